"""Mean curves and how well they repeat, as the texts of an export."""

from phasemark.model.plan import AgainstLoad
from phasemark.results.csv_text import Cell, csv_text
from phasemark.results.phase_curves import CurveKey, PeopleKey, StudyCurves
from phasemark.signal.curves import POINTS

CURVE_COLUMNS = (
    *("participant", "condition", "muscle", "side", "phase", "against_load", "over", "percent"),
    *("mean", "sd", "n_reps", "n_trials", "unit"),
)
PEOPLE_COLUMNS = (
    *("condition", "muscle", "side", "phase", "against_load", "over", "percent"),
    *("mean", "sd", "n_participants", "unit"),
)
REPEAT_COLUMNS = (
    *("participant", "condition", "muscle", "side", "phase", "against_load", "over"),
    *("n_reps", "variance_ratio", "coefficient_of_variation_percent"),
)


def _places(key: CurveKey | PeopleKey) -> dict[str, Cell]:
    return {
        "condition": key.level,
        "muscle": key.muscle,
        "side": str(key.side),
        "phase": key.phase,
        "against_load": key.against is AgainstLoad.AGAINST,
        "over": str(key.over),
    }


def curves_text(curves: StudyCurves) -> str:
    """curves.csv: mean and SD over counted reps of each participant at every percent."""
    return csv_text(
        CURVE_COLUMNS,
        (
            {
                **_places(key),
                "participant": key.participant,
                "percent": percent,
                "mean": float(found.mean[percent]),
                "sd": float(found.sd[percent]),
                "n_reps": int(found.n[percent]),
                "n_trials": found.trials,
                "unit": curves.unit(key.muscle),
            }
            for key, found in curves.of.items()
            for percent in range(POINTS)
        ),
    )


def people_curves_text(curves: StudyCurves) -> str:
    """mean_curves.csv: mean and SD between participants of their mean curves at every percent."""
    return csv_text(
        PEOPLE_COLUMNS,
        (
            {
                **_places(key),
                "percent": percent,
                "mean": float(found.mean[percent]),
                "sd": float(found.sd[percent]),
                "n_participants": int(found.n[percent]),
                "unit": curves.unit(key.muscle),
            }
            for key, found in curves.people.items()
            for percent in range(POINTS)
        ),
    )


def repeatability_text(curves: StudyCurves) -> str:
    """repeatability.csv: variance ratio and coefficient of variation over the reps of each participant."""
    return csv_text(
        REPEAT_COLUMNS,
        (
            {
                **_places(key),
                "participant": key.participant,
                "n_reps": found.reps,
                "variance_ratio": found.variance_ratio,
                "coefficient_of_variation_percent": found.variation_percent,
            }
            for key, found in curves.of.items()
        ),
    )


def curve_texts(curves: StudyCurves) -> dict[str, str]:
    """The files that curves are exported as, by name."""
    return {
        "curves.csv": curves_text(curves),
        "mean_curves.csv": people_curves_text(curves),
        "repeatability.csv": repeatability_text(curves),
    }
