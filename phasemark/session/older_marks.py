"""Which trials have marks that were made by other rules than today's settings."""

from phasemark.model.marks import Marks
from phasemark.model.settings import PhaseSettings
from phasemark.model.study import Study, Trial
from phasemark.phases.bursts import burst_rule_text
from phasemark.phases.marking import phase_rule_text


def older_marks(study: Study, rater: str) -> frozenset[str]:
    """Ids of the trials whose marks by a rater name other rules than marking them again would now.

    Marks that were drawn by hand alone name no rule, and are never older. Fixed levels of thirds, and what makes a
    repetition complete or doubtful, are in no rule's text: marks are not found older by them.
    """
    settings = study.settings.phases
    texts: dict[object, str] = {}

    def text_now(trial: Trial) -> str:
        trace = trial.movement[0] if trial.movement else None
        rate = None if trace is None else trace.rate / trace.alignment.ratio
        if rate not in texts:
            texts[rate] = burst_rule_text() if rate is None else phase_rule_text(rate, settings)
        return texts[rate]

    return frozenset(
        trial.id
        for trial in study.trials
        for marks in trial.marks
        if marks.rater == rater
        and (
            marks.phase_rule not in ("", text_now(trial))
            or _thirds_differ(marks, settings)
            or _begins_otherwise(marks, study.exercise(trial.exercise).first_phase)
        )
    )


def _thirds_differ(marks: Marks, settings: PhaseSettings) -> bool:
    return marks.thirds_rule not in ("", str(settings.thirds))


def _begins_otherwise(marks: Marks, first_phase: str | None) -> bool:
    """Whether a repetition that no hand has touched begins with another phase than its exercise is said to."""
    return first_phase is not None and any(
        rep.phases[0].name != first_phase for rep in marks.reps if len(rep.phases) == 2 and not rep.touched
    )
