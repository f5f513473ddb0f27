"""Edits of a study: each takes a study and returns a new one."""

from collections.abc import Callable
from dataclasses import replace

from phasemark.model.errors import BadCall
from phasemark.model.intervals import AcceptedFinding, Interval
from phasemark.model.marks import Marks
from phasemark.model.normalisation import ReferenceDecision
from phasemark.model.plan import AnalysisPlan
from phasemark.model.settings import Settings
from phasemark.model.study import Exercise, Study, Trial


def with_trial(study: Study, trial: Trial) -> Study:
    """The study with the trial of the same id replaced; raises BadCall if there is none."""
    study.trial(trial.id)
    return replace(study, trials=tuple(trial if old.id == trial.id else old for old in study.trials))


def add_trials(study: Study, trials: tuple[Trial, ...]) -> Study:
    """The study with further trials at the end."""
    return replace(study, trials=(*study.trials, *trials))


def remove_trial(study: Study, trial_id: str) -> Study:
    """The study without a trial (its recording file stays in the folder, so that undo can bring it back)."""
    study.trial(trial_id)
    return replace(study, trials=tuple(t for t in study.trials if t.id != trial_id))


def with_exercise(study: Study, exercise: Exercise) -> Study:
    """The study with what is known of an exercise replaced or added."""
    others = [e for e in study.exercises if e.name != exercise.name]
    return replace(study, exercises=tuple(sorted((*others, exercise), key=lambda e: e.name)))


def with_settings(study: Study, settings: Settings) -> Study:
    """The study with other settings."""
    return replace(study, settings=settings)


def with_reference(study: Study, decision: ReferenceDecision) -> Study:
    """The study with a decision about a reference replaced or added."""
    others = [held for held in study.references if held.key != decision.key]
    return replace(study, references=tuple(sorted((*others, decision), key=lambda held: held.key)))


def without_reference(study: Study, decision: ReferenceDecision) -> Study:
    """The study without any decision about the reference that this one is about."""
    return replace(study, references=tuple(held for held in study.references if held.key != decision.key))


def with_plan(study: Study, plan: AnalysisPlan | None) -> Study:
    """The study with another analysis plan, or none."""
    return replace(study, plan=plan)


def with_interval(study: Study, trial_id: str, interval: Interval) -> Study:
    """The study with one more interval in a trial, in place of any for the same purpose and channel."""
    trial = study.trial(trial_id)
    place = (interval.purpose, interval.muscle, interval.side)
    others = [held for held in trial.intervals if (held.purpose, held.muscle, held.side) != place]
    return with_trial(study, replace(trial, intervals=tuple(sorted((*others, interval), key=lambda i: i.begin))))


def without_interval(study: Study, trial_id: str, interval: Interval) -> Study:
    """The study without an interval of a trial."""
    trial = study.trial(trial_id)
    return with_trial(study, replace(trial, intervals=tuple(held for held in trial.intervals if held != interval)))


def with_accepted(study: Study, trial_id: str, finding: AcceptedFinding) -> Study:
    """The study with a finding of a quality check accepted, with its reason."""
    study = without_accepted(study, trial_id, finding)
    trial = study.trial(trial_id)
    return with_trial(study, replace(trial, accepted=(*trial.accepted, finding)))


def without_accepted(study: Study, trial_id: str, finding: AcceptedFinding) -> Study:
    """The study with the finding of this check and channel no longer accepted."""
    trial = study.trial(trial_id)
    about = (finding.check, finding.muscle, finding.side)
    kept = tuple(held for held in trial.accepted if (held.check, held.muscle, held.side) != about)
    return with_trial(study, replace(trial, accepted=kept))


def with_rater(study: Study, rater: str) -> Study:
    """The study with one more rater; a rater is a short code, never a login name."""
    if not rater.strip():
        raise BadCall("A rater needs a code, such as R2.")
    return study if rater in study.raters else replace(study, raters=(*study.raters, rater))


def edit_marks(study: Study, trial_id: str, rater: str, edit: Callable[[Marks], Marks]) -> Study:
    """The study with one rater's marks of a trial passed through an edit; the same study if nothing changed."""
    trial = study.trial(trial_id)
    before = trial.marks_of(rater)
    after = edit(before)
    return study if after is before or after == before else with_trial(study, trial.with_marks(after))


def next_trial_id(study: Study, taken: int = 0) -> str:
    """An id for one more trial: T and a number no trial of the study has had ('T007')."""
    numbers = [int(t.id[1:]) for t in study.trials if t.id[:1] == "T" and t.id[1:].isdigit()]
    return f"T{max(numbers, default=0) + 1 + taken:03d}"
