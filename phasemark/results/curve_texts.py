"""Mean curves and how well they repeat, as the texts of an export and as a small table to read."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import isfinite, nan
from statistics import median

from phasemark.model.plan import AgainstLoad
from phasemark.model.recording import Side
from phasemark.results.csv_text import Cell, csv_text
from phasemark.results.phase_curves import CurveKey, Over, PeopleKey, StudyCurves
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


@dataclass(frozen=True, slots=True)
class Repeatability:
    """How well curves repeat from rep to rep: of each figure the median, lowest and highest over participants."""

    level: str
    muscle: str
    side: Side
    phase: str
    participants: int
    variance_ratio: tuple[float, float, float]
    variation_percent: tuple[float, float, float]


def repeatability(curves: StudyCurves, over: Over = Over.TIME) -> tuple[Repeatability, ...]:
    """The small table of repeatability: a row for each muscle, phase and level."""
    rows = []
    for people in curves.people:
        if people.over is not over:
            continue
        own = [
            found
            for key, found in curves.of.items()
            if PeopleKey(key.level, key.muscle, key.side, key.phase, key.against, key.over) == people
        ]
        rows.append(
            Repeatability(
                people.level,
                people.muscle,
                people.side,
                people.phase,
                sum(isfinite(found.variance_ratio) for found in own),
                _middle_and_ends(found.variance_ratio for found in own),
                _middle_and_ends(found.variation_percent for found in own),
            )
        )
    return tuple(rows)


def _middle_and_ends(values: Iterable[float]) -> tuple[float, float, float]:
    there = [value for value in values if isfinite(value)]
    return (median(there), min(there), max(there)) if there else (nan, nan, nan)


def repeatability_lines(rows: Sequence[Repeatability]) -> tuple[str, ...]:
    """The small table as lines of text in columns, its title first."""
    cells = [("Muscle", "Phase", "Condition", "n", "Variance ratio", "Coefficient of variation (%)")]
    for row in rows:
        muscle = row.muscle if row.side is Side.NONE else f"{row.muscle} ({row.side})"
        numbers = (_range_text(row.variance_ratio, 2), _range_text(row.variation_percent, 0))
        cells.append((muscle, row.phase, row.level, str(row.participants), *numbers))
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    return tuple(
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip() for line in cells
    )


def _range_text(of: tuple[float, float, float], decimals: int) -> str:
    """The median with the lowest and the highest."""
    if not isfinite(of[0]):
        return ""
    middle, low, high = (f"{value:.{decimals}f}" for value in of)
    return f"{middle} ({low} to {high})"
