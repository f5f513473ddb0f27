"""What a person does with whole reps, each one edit and one undo: add, delete, split, merge, judge, accept.

Each takes the signals of the trial that is in view, since the movement trace says which phases there are; each
returns the id of the rep that is then in hand. All raise MarksError with a sentence where it cannot be done, and
Unavailable where the study is read-only.
"""

from phasemark.model.checking import Spot, check_all, next_to_check, unchecked
from phasemark.model.clock import seconds
from phasemark.model.errors import BadCall
from phasemark.model.mark_edits import check_rep
from phasemark.model.marks import Marks
from phasemark.model.rep_edits import next_rep
from phasemark.model.study import Trial
from phasemark.phases.by_hand import Ground, draw_rep, erase_rep, join_with_next, judge_rep, part_rep
from phasemark.session.blinding import offered
from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals

ACCEPTED_COMPLETE = "accepted as complete"
ACCEPTED_INCOMPLETE = "taken as incomplete"


def ground_of(session: Session, signals: TrialSignals) -> Ground:
    """What hand edits of a trial stand on."""
    return Ground(signals.trial.clock, signals.movement, session.study.settings.phases)


def _marks(session: Session, trial_id: str) -> tuple[Trial, Marks]:
    trial = session.study.trial(trial_id)
    return trial, trial.marks_of(session.rater)


def rep_words(trial: Trial, marks: Marks, rep_id: int) -> str:
    """A rep by its number, or by its time where it has none ('rep 3', 'the incomplete rep at 12.30 s')."""
    number = marks.numbers().get(rep_id)
    return f"rep {number}" if number else f"the incomplete rep at {seconds(marks.rep(rep_id).begin, trial.clock):.2f} s"


def _keep(session: Session, trial_id: str, text: str, after: Marks) -> bool:
    return session.edit_marks(text, trial_id, lambda _: after)


def add_rep(session: Session, signals: TrialSignals, begin: int, end: int) -> int:
    """Add a rep over the samples [begin, end) (in either order); see by_hand.draw_rep for its phases."""
    trial, marks = _marks(session, signals.trial.id)
    after = draw_rep(marks, begin, end, ground_of(session, signals))
    rep_id = marks.next_id
    _keep(session, trial.id, f"added {rep_words(trial, after, rep_id)} by hand", after)
    return rep_id


def delete_rep(session: Session, signals: TrialSignals, rep_id: int) -> int | None:
    """Delete a rep, leaving a tombstone; the rep after it is then in hand, else the one before it."""
    trial, marks = _marks(session, signals.trial.id)
    text = f"deleted {rep_words(trial, marks, rep_id)}"
    order = [rep.id for rep in marks.reps]
    place = order.index(rep_id)
    after = erase_rep(marks, rep_id, ground_of(session, signals))
    _keep(session, trial.id, text, after)
    beside = order[place + 1 : place + 2] or order[max(place - 1, 0) : place]
    return beside[0] if beside else None


def split_rep(session: Session, signals: TrialSignals, rep_id: int, sample: int) -> tuple[int, int]:
    """Split a rep at a sample; the ids of both parts, of which the first is that of the rep."""
    trial, marks = _marks(session, signals.trial.id)
    text = f"split {rep_words(trial, marks, rep_id)} at {seconds(sample, trial.clock):.2f} s"
    _keep(session, trial.id, text, part_rep(marks, rep_id, sample, ground_of(session, signals)))
    return rep_id, marks.next_id


def merge_with_next(session: Session, signals: TrialSignals, rep_id: int) -> int:
    """Make one rep of a rep and the one after it."""
    trial, marks = _marks(session, signals.trial.id)
    after = join_with_next(marks, rep_id, ground_of(session, signals))
    second = next_rep(marks, rep_id)
    other = rep_words(trial, marks, second.id) if second is not None else ""
    _keep(session, trial.id, f"merged {rep_words(trial, marks, rep_id)} with {other}", after)
    return rep_id


def mark_complete(session: Session, signals: TrialSignals, rep_id: int, complete: bool, reason: str = "") -> bool:
    """Take a rep as complete or as incomplete, whatever the rule says; that checks it. Returns whether it was not so.

    The reason (empty: accepted as complete, taken as incomplete) stands in the check. Taking the check back leaves
    the rep to the rule again, the next time that the trial is marked.
    """
    trial, marks = _marks(session, signals.trial.id)
    if marks.rep(rep_id).complete == complete:
        return False
    why = reason.strip() or (ACCEPTED_COMPLETE if complete else ACCEPTED_INCOMPLETE)
    after = judge_rep(marks, rep_id, complete, session.decision(why), ground_of(session, signals))
    word = "complete" if complete else "incomplete"
    return _keep(session, trial.id, f"took {rep_words(trial, marks, rep_id)} as {word}", after)


def accept_rep(session: Session, trial_id: str, rep_id: int) -> Spot | None:
    """Check a rep as it stands, and give the one to look at next: trial and rep, None where none is left."""
    trial, marks = _marks(session, trial_id)
    if marks.rep(rep_id).checked is None:
        after = check_rep(marks, rep_id, session.decision())
        _keep(session, trial_id, f"accepted {rep_words(trial, marks, rep_id)}", after)
    return next_to_check(offered(session), session.rater, trial_id, rep_id)


def take_back_acceptance(session: Session, trial_id: str, rep_id: int) -> bool:
    """Take the check of a rep back; returns whether it was checked."""
    trial, marks = _marks(session, trial_id)
    if marks.rep(rep_id).checked is None:
        return False
    text = f"took back the acceptance of {rep_words(trial, marks, rep_id)}"
    return _keep(session, trial_id, text, check_rep(marks, rep_id, None))


def accept_trial(session: Session, trial_id: str) -> Spot | None:
    """Check every rep of a trial that is still to be looked at, and give the next one of another trial.

    Raises:
        BadCall: the trial is excluded.
    """
    trial, marks = _marks(session, trial_id)
    if trial.excluded is not None:
        raise BadCall(f"Trial {trial_id} is excluded, so that nothing of it is to be accepted; take that back first.")
    count = len(unchecked(trial, session.rater))
    text = f"accepted {count} {'rep' if count == 1 else 'reps'} of trial {trial_id}"
    _keep(session, trial_id, text, check_all(marks, session.decision()))
    return next_to_check(offered(session), session.rater, trial_id, None)
