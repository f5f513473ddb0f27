"""Whether a rep of a muscle counts, and if not, why: decisions and rules brought together in one place."""

from collections.abc import Iterable
from dataclasses import dataclass

from phasemark.model.marks import ChannelExclusion, Rep
from phasemark.model.recording import EmgChannel
from phasemark.model.settings import CountedReps
from phasemark.model.settings_text import counted_text
from phasemark.model.study import Kind, Trial


@dataclass(frozen=True, slots=True)
class Standing:
    """counted: in the means. excluded: by a person. reason: why it does not count, in words."""

    counted: bool
    excluded: bool
    reason: str


def _exclusion(exclusions: Iterable[ChannelExclusion], channel: EmgChannel | None) -> str | None:
    for exclusion in exclusions:
        if channel is not None and (exclusion.muscle, exclusion.side) == (channel.muscle, channel.side):
            return exclusion.decision.reason
    return None


def _out_of_trial(trial: Trial, channel: EmgChannel | None) -> str | None:
    return trial.excluded.reason if trial.excluded is not None else _exclusion(trial.excluded_channels, channel)


def exclusion_reason(trial: Trial, rep: Rep, channel: EmgChannel | None = None) -> str | None:
    """Why a person took it out: the trial, a channel of it, the rep, or a channel in the rep; None if nobody did."""
    in_trial = _out_of_trial(trial, channel)
    if in_trial is not None:
        return in_trial
    if rep.excluded is not None:
        return rep.excluded.reason
    return _exclusion(rep.excluded_channels, channel)


def _no_task(trial: Trial) -> Standing:
    return Standing(False, False, f"not a task trial ({trial.kind})")


def hold_standing(trial: Trial, channel: EmgChannel) -> Standing:
    """Where the hold of a trial stands in one channel: it counts in task trials, unless a person took it out."""
    reason = _out_of_trial(trial, channel)
    if reason is not None:
        return Standing(False, True, reason)
    return Standing(True, False, "") if trial.kind is Kind.TASK else _no_task(trial)


def standing(
    trial: Trial, rep: Rep, channel: EmgChannel | None, counted: CountedReps, numbers: dict[int, int]
) -> Standing:
    """Where a rep of one channel (or of none) stands; numbers are those of its marks (marks.numbers())."""
    reason = exclusion_reason(trial, rep, channel)
    if reason is not None:
        return Standing(False, True, reason)
    if trial.kind is not Kind.TASK:
        return _no_task(trial)
    if not rep.complete:
        return Standing(False, False, "incomplete repetition")
    if not counted.includes(numbers[rep.id], len(numbers)):
        return Standing(False, False, f"not among the counted repetitions ({counted_text(counted)})")
    return Standing(True, False, "")
