"""Taking trials, channels and repetitions out of the means for a reason, and taking that back."""

from dataclasses import replace

from phasemark.model.errors import BadCall
from phasemark.model.mark_edits import exclude_channel, exclude_rep, with_rep
from phasemark.model.marks import Decision, Rep
from phasemark.model.recording import EmgChannel, Side
from phasemark.model.study import Trial
from phasemark.model.study_edits import with_trial
from phasemark.session.session import Session


def channels_named(trial: Trial, muscle: str, side: str | None = None) -> tuple[EmgChannel, ...]:
    """The channels of a trial that a person means by a muscle's name, on one side or both.

    Raises:
        BadCall: there is none; the sentence lists those there are.
    """
    wanted = muscle.strip().casefold()
    found = tuple(
        channel
        for channel in trial.emg
        if wanted in (channel.muscle.casefold(), channel.label.casefold()) and side in (None, channel.side)
    )
    if not found:
        known = ", ".join(channel.label for channel in trial.emg) or "none"
        raise BadCall(f"Trial {trial.id} has no muscle {muscle!r}; its muscles are {known}.")
    return found


def rep_numbered(session: Session, trial: Trial, number: int) -> Rep:
    """The complete repetition with a number, as performed.

    Raises:
        BadCall: there is none; the sentence says how many there are.
    """
    marks = trial.marks_of(session.rater)
    for rep_id, held in marks.numbers().items():
        if held == number:
            return marks.rep(rep_id)
    raise BadCall(f"Trial {trial.id} has no repetition {number}; it has {len(marks.numbers())} complete ones.")


def exclude(
    session: Session, trial: Trial, *, rep: Rep | None, channels: tuple[EmgChannel, ...], reason: str | None
) -> bool:
    """Exclude a trial, channels of it, a rep, or channels in a rep for a reason; None takes it back.

    Returns whether anything changed.

    Raises:
        BadCall: the reason is empty.
    """
    if reason is not None and not reason.strip():
        raise BadCall("An exclusion needs its reason; give it in words.")
    decision = None if reason is None else session.decision(reason.strip())
    verb = "took back the exclusion of" if reason is None else "excluded"
    what = [*(channel.label for channel in channels), *([f"rep id {rep.id}"] if rep else []), f"trial {trial.id}"]
    text = f"{verb} {', '.join(what)}"
    return session.edit(text, with_trial(session.study, _after(session, trial, rep, channels, decision)), trial.id)


def _after(
    session: Session, trial: Trial, rep: Rep | None, channels: tuple[EmgChannel, ...], decision: Decision | None
) -> Trial:
    pairs: list[tuple[str, Side]] = [(channel.muscle, channel.side) for channel in channels]
    if rep is None and not pairs:
        return replace(trial, excluded=decision)
    if rep is None:
        held = trial.excluded_channels
        for muscle, side in pairs:
            held = exclude_channel(held, muscle, side, decision)
        return replace(trial, excluded_channels=held)
    marks = trial.marks_of(session.rater)
    if not pairs:
        return trial.with_marks(exclude_rep(marks, rep.id, decision))
    held = rep.excluded_channels
    for muscle, side in pairs:
        held = exclude_channel(held, muscle, side, decision)
    return trial.with_marks(with_rep(marks, replace(rep, excluded_channels=held)))
