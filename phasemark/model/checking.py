"""Which reps a person has still to look at, and which of them comes next."""

from collections.abc import Sequence
from dataclasses import replace

from phasemark.model.marks import Decision, Marks, Rep
from phasemark.model.study import Study, Trial

Spot = tuple[str, int]
"""A trial's id and a rep's id."""


def needs_check(rep: Rep) -> bool:
    """Whether a rep is still to be looked at: complete, so that it may count, not excluded, not checked."""
    return rep.complete and rep.excluded is None and rep.checked is None


def unchecked(trial: Trial, rater: str) -> tuple[int, ...]:
    """Ids of the reps of a trial that a rater has still to look at, in order of time; none of an excluded trial."""
    if trial.excluded is not None:
        return ()
    return tuple(rep.id for rep in trial.marks_of(rater).reps if needs_check(rep))


def check_all(marks: Marks, decision: Decision) -> Marks:
    """The marks with every rep checked that is still to be looked at."""
    reps = tuple(replace(rep, checked=decision) if needs_check(rep) else rep for rep in marks.reps)
    return replace(marks, reps=reps)


def next_to_check(study: Study, rater: str, trial_id: str, rep_id: int | None) -> Spot | None:
    """The rep to look at after another one: later in this trial, else earlier in it, else in the trials after it.

    After the last trial comes the first one. rep_id None means before the first rep of the trial. The rep itself
    is not given. None where nothing is left. Raises BadCall if there is no such trial.
    """
    return _beside(study, rater, trial_id, rep_id, 1)


def previous_to_check(study: Study, rater: str, trial_id: str, rep_id: int | None) -> Spot | None:
    """As next_to_check the other way; rep_id None means after the last rep of the trial."""
    return _beside(study, rater, trial_id, rep_id, -1)


def _beside(study: Study, rater: str, trial_id: str, rep_id: int | None, step: int) -> Spot | None:
    trial = study.trial(trial_id)
    order = [rep.id for rep in trial.marks_of(rater).reps][::step]
    here = order.index(rep_id) + 1 if rep_id in order else 0
    wanted = set(unchecked(trial, rater)) - {rep_id}
    for found in (*order[here:], *order[:here]):
        if found in wanted:
            return trial_id, found
    for other in _round(study.trials, trial, step):
        left = unchecked(other, rater)
        if left:
            return other.id, left[0 if step > 0 else -1]
    return None


def _round(trials: Sequence[Trial], trial: Trial, step: int) -> list[Trial]:
    """The other trials, from a trial on in one direction and round."""
    ordered = list(trials)[::step]
    place = ordered.index(trial)
    return [*ordered[place + 1 :], *ordered[:place]]
