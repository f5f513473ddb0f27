"""Taking a trial out of the study, as after a recording that was added by mistake."""

from phasemark.model.errors import BadCall
from phasemark.model.study import Trial
from phasemark.model.study_edits import remove_trial
from phasemark.session.session import Session


def remove(session: Session, trial: Trial, reason: str) -> None:
    """Remove a trial with its marks for a reason, which the ledger keeps; undo brings it back.

    Its recording stays in the study's folder. A trial that was recorded and is not to count is excluded instead, so
    that exports still list it.

    Raises:
        BadCall: the reason is empty.
        Unavailable: the study is read-only.
    """
    if not reason.strip():
        raise BadCall("Removing a trial needs its reason; give it in words.")
    session.edit(f"removed trial {trial.id}: {reason.strip()}", remove_trial(session.study, trial.id), trial.id)
