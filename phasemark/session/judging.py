"""A person's judgements about signals and references, each with its reason, and taking them back."""

from collections.abc import Sequence
from fractions import Fraction

from phasemark.model.clock import nearest_sample, seconds
from phasemark.model.errors import BadCall
from phasemark.model.intervals import AcceptedFinding, Interval, Purpose
from phasemark.model.normalisation import ReferenceChoice, ReferenceDecision
from phasemark.model.recording import EmgChannel, Side
from phasemark.model.study import Kind, Study, Trial
from phasemark.model.study_edits import (
    with_accepted,
    with_interval,
    with_reference,
    without_accepted,
    without_interval,
    without_reference,
)
from phasemark.session.session import Session


def _reason(reason: str, what: str) -> str:
    if not reason.strip():
        raise BadCall(f"{what} needs its reason; give it in words.")
    return reason.strip()


def accept_finding(session: Session, trial: Trial, check: str, channel: EmgChannel | None, reason: str | None) -> bool:
    """Accept what a quality check found in a channel (None: in the movement trace), or take that back (reason None).

    Returns whether anything changed.

    Raises:
        BadCall: the reason is empty.
    """
    return accept_findings(session, [(trial.id, check, channel)], reason)


def accept_findings(
    session: Session, findings: Sequence[tuple[str, str, EmgChannel | None]], reason: str | None
) -> bool:
    """Accept findings for one reason as one edit, or take that back; each is a trial's id, a check and a channel.

    Returns and raises as accept_finding.
    """
    decision = session.decision() if reason is None else session.decision(_reason(reason, "Accepting a finding"))
    study, where = session.study, ""
    for trial_id, check, channel in findings:
        muscle, side = (channel.muscle, channel.side) if channel else ("", Side.NONE)
        found = AcceptedFinding(check, muscle, side, decision)
        study = (without_accepted if reason is None else with_accepted)(study, trial_id, found)
        where = where or f"{check} of {channel.label if channel else 'the movement trace'} in trial {trial_id}"
    if not findings:
        return False
    more = f" and {len(findings) - 1} more" if len(findings) > 1 else ""
    text = f"{'no longer accepted' if reason is None else 'accepted'} {where}{more}"
    return session.edit(text, study, findings[0][0])


def place_interval(
    session: Session,
    trial: Trial,
    purpose: Purpose,
    *,
    begin: int,
    end: int,
    channel: EmgChannel | None = None,
    reason: str = "",
) -> bool:
    """Place an interval of clock samples for a purpose, for one channel or all, in place of the one that was there.

    Returns whether anything changed.

    Raises:
        BadCall: it does not rise or leaves the recording.
    """
    if not 0 <= begin < end:
        run = f"from {seconds(begin, trial.clock):.3f} to {seconds(end, trial.clock):.3f} s"
        raise BadCall(f"An interval begins at 0 s or later and ends after it begins; it cannot run {run}.")
    if end > trial.length:
        length = float(trial.length / trial.clock)
        raise BadCall(f"The interval ends after the recording of trial {trial.id} does ({length:.3f} s).")
    muscle, side = (channel.muscle, channel.side) if channel else ("", Side.NONE)
    interval = Interval(purpose, begin, end, session.decision(reason.strip()), muscle, side)
    text = f"placed the {purpose} of {channel.label if channel else 'all muscles'} in trial {trial.id}"
    return session.edit(text, with_interval(session.study, trial.id, interval), trial.id)


def useless_interval(study: Study, trial: Trial, purpose: Purpose) -> str:
    """Why an interval placed in a trial has no use there, or none yet; empty where it has one."""
    if purpose is Purpose.PLATEAU and trial.kind not in (Kind.MVIC, Kind.REFERENCE):
        return f"The plateau is placed; it has no use in a {trial.kind} trial, only in one of MVIC or reference."
    if purpose is Purpose.HOLD and not study.exercise(trial.exercise).isometric:
        name = trial.exercise or "this trial's exercise"
        return f"The hold is placed; it is measured once {name} is set as an isometric hold in the settings."
    return ""


def remove_interval(session: Session, trial: Trial, interval: Interval) -> bool:
    """Take an interval away; whether it was there."""
    text = f"removed the {interval.purpose} of {interval.muscle or 'all muscles'} in trial {trial.id}"
    return session.edit(text, without_interval(session.study, trial.id, interval), trial.id)


def interval_samples(trial: Trial, begin_s: str, end_s: str) -> tuple[int, int]:
    """Clock samples of an interval given in seconds, as people type them.

    Raises:
        BadCall: one of them is no number.
    """
    try:
        begin, end = (nearest_sample(Fraction(text.strip()), trial.clock) for text in (begin_s, end_s))
    except (ValueError, ZeroDivisionError):
        raise BadCall(f"An interval is given by two times in seconds, not {begin_s!r} and {end_s!r}.") from None
    return begin, end


def choose_attempt(session: Session, trial: Trial, channel: EmgChannel, reason: str) -> bool:
    """Take one trial's value as the reference of its participant, session and muscle, whatever the rule would take.

    Raises:
        BadCall: the trial is no attempt at a reference, or the reason is empty.
    """
    if trial.kind not in (Kind.MVIC, Kind.REFERENCE):
        raise BadCall(f"Trial {trial.id} is no {Kind.MVIC} or {Kind.REFERENCE} trial and cannot be chosen as one.")
    decision = ReferenceDecision(
        trial.participant,
        trial.session,
        channel.muscle,
        channel.side,
        ReferenceChoice.ATTEMPT,
        session.decision(_reason(reason, "A reference chosen by hand")),
        trial=trial.id,
    )
    text = f"chose trial {trial.id} as the reference of {channel.label}, {trial.participant}"
    return session.edit(text, with_reference(session.study, decision), trial.id)


def borrow_reference(
    session: Session, participant: str, of_session: str, *, muscle: str, side: Side, from_session: str, reason: str
) -> bool:
    """Take the reference of another session, where electrodes were placed anew, for a reason.

    Raises:
        BadCall: that session has no trial of the participant, or the reason is empty.
    """
    if from_session == of_session or from_session not in _sessions(session.study, participant):
        known = ", ".join(name for name in _sessions(session.study, participant) if name != of_session) or "none"
        raise BadCall(
            f"{participant} has no other session {from_session!r} to take a reference from; there is {known}."
        )
    decision = ReferenceDecision(
        participant,
        of_session,
        muscle,
        side,
        ReferenceChoice.BORROWED,
        session.decision(_reason(reason, "A reference from another session")),
        from_session=from_session,
    )
    text = f"took the reference of {muscle}, {participant}, session {of_session} from session {from_session}"
    return session.edit(text, with_reference(session.study, decision))


def forget_choice(session: Session, decision: ReferenceDecision) -> bool:
    """Go back to the reference that the rule gives; whether anything changed."""
    text = f"the rule again for the reference of {decision.muscle}, {decision.participant}"
    return session.edit(text, without_reference(session.study, decision), decision.trial)


def _sessions(study: Study, participant: str) -> tuple[str, ...]:
    return tuple(sorted({trial.session for trial in study.trials if trial.participant == participant}))
