"""The reference that amplitudes of a muscle are stated in shares of, from its attempts."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import hypot, isfinite, isnan, nan, sqrt

from phasemark.model.normalisation import Approach, ReferenceRule
from phasemark.signal.attempts import Attempt, bias_of_highest

SHORT_WINDOW_S = 0.25
"""Windows under this length (s) are flagged: their maximum is biased upward (common practice, no source)."""
COMES_NEAR = 0.5
"""A sound attempt at another position stands in for a faulty one from this share of it on (common practice, no
source): an MVIC of other muscles is far lower."""
USUAL_EFFORT_S = 3.0
"""The effort (s) for which the bias of a short window is stated: an MVIC of 3-5 s (value from memory)."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A finding of a quality check in an attempt: samples begin <= i < end, what it is, whether it was accepted."""

    begin: int
    end: int
    what: str
    accepted: bool = False


@dataclass(frozen=True, slots=True)
class Reference:
    """A reference (mV), nan where it has none; 100 percent of a muscle.

    error and mean_error are the relative sampling errors of rms and mean_amplitude. used and mean_used are the places
    of the attempts they were made from; flags are plain sentences for the person who judges it.
    """

    rms: float
    mean_amplitude: float
    error: float
    used: tuple[int, ...]
    flags: tuple[str, ...] = ()
    mean_error: float = nan
    mean_used: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Drift:
    """Reference after over before the sets, of RMS and mean amplitude, and the relative sampling error of the first."""

    rms: float
    mean_amplitude: float
    error: float


@dataclass(frozen=True, slots=True)
class _Kind:
    # RMS or mean amplitude of an attempt, its error and its window.
    name: str
    value: Callable[[Attempt], float]
    error: Callable[[Attempt], float]
    span: Callable[[Attempt], tuple[int, int]]


_RMS = _Kind("RMS", lambda a: a.rms, lambda a: a.error, lambda a: (a.begin, a.end))
_MEAN = _Kind(
    "mean amplitude", lambda a: a.mean_amplitude, lambda a: a.mean_error, lambda a: (a.mean_begin, a.mean_end)
)


def reference_of(
    attempts: Sequence[Attempt],
    *,
    rule: ReferenceRule,
    best: int,
    disagreement: float,
    findings: Sequence[Sequence[Stretch]] = (),
    positions: Sequence[str] = (),
) -> Reference | None:
    """The reference of a muscle from its attempts; None where no attempt has a value.

    HIGHEST and PLATEAU take the highest of the attempts (found by highest_window, or by plateau and over_interval);
    BEST_MEAN the mean of the best attempts, by number. RMS and mean amplitude are each taken from their own
    highest windows. An attempt with a finding inside its window that nobody accepted is left out where another is
    there, and flagged either way. findings[i] are those of attempt i, in samples of its channel.

    positions[i] is the position (or task) that attempt i was made at, one for all where none are given. The position of
    the best attempt decides: only attempts at it are averaged and compared. A faulty attempt is left out for one
    at another position only where that one reaches COMES_NEAR of it.

    Flagged are also: the best two more than the share disagreement apart, a maximum at the edge, a window under
    SHORT_WINDOW_S, an attempt without a value, and a single attempt.
    """
    count = best if rule is ReferenceRule.BEST_MEAN else 1
    rms, mean = (_chosen(attempts, findings, kind, count, positions) for kind in (_RMS, _MEAN))
    if not rms.used and not mean.used:
        return None
    main, kind = (rms, _RMS) if rms.used else (mean, _MEAN)
    flags = [
        *_missing(attempts, kind),
        *main.said,
        *(sentence for sentence in mean.said if sentence not in main.said),
        *_too_few(main, count),
        *_apart(attempts, main.usable, kind, disagreement),
        *_weak_windows(attempts, main.used, kind, highest=rule is not ReferenceRule.PLATEAU),
    ]
    if rms.used and mean.used and set(rms.used) != set(mean.used):
        flags.append(f"The mean amplitude was highest in {_named(mean.used)}, the RMS in {_named(rms.used)}.")
    return Reference(rms.value, mean.value, rms.error, main.used, tuple(flags), mean.error, mean.used)


def best_two_apart(
    attempts: Sequence[Attempt], findings: Sequence[Sequence[Stretch]] = (), positions: Sequence[str] = ()
) -> float | None:
    """Share by which the second best of the usable attempts lies below the best; None where there are not two.

    In RMS, in mean amplitude where no attempt has an RMS; which are usable is told as in reference_of.
    """
    for kind in (_RMS, _MEAN):
        usable = _chosen(attempts, findings, kind, 1, positions).usable
        if usable:
            return _share_apart(attempts, usable, kind)
    return None


def task_reference(attempts: Sequence[Attempt], approach: Approach) -> Reference | None:
    """The peak or the mean of the task itself, from attempts of all its reps; None where none has a value.

    TASK_PEAK: the highest of the reps' highest windows; TASK_MEAN: the mean over the reps' amplitudes (over_interval of
    each whole rep). One reference for all exercises, or their difference disappears (Besomi et al. 2020, JEK
    53:102438).
    """
    count = 1 if approach is Approach.TASK_PEAK else len(attempts)
    rms, mean = (_chosen(attempts, (), kind, count, ()) for kind in (_RMS, _MEAN))
    if not rms.used and not mean.used:
        return None
    kind, used = (_RMS, rms.used) if rms.used else (_MEAN, mean.used)
    flags = _weak_windows(attempts, used, kind, highest=True) if approach is Approach.TASK_PEAK else []
    return Reference(rms.value, mean.value, rms.error, used, tuple(flags), mean.error, mean.used)


def drift(before: Reference, after: Reference) -> Drift:
    """The reference after the sets over that before them; 0.9 says that the maximum is a tenth lower."""
    return Drift(
        _ratio(after.rms, before.rms),
        _ratio(after.mean_amplitude, before.mean_amplitude),
        hypot(after.error, before.error),
    )


@dataclass(frozen=True, slots=True)
class _Chosen:
    value: float
    error: float
    used: tuple[int, ...]
    usable: tuple[int, ...]
    said: tuple[str, ...]


def _chosen(
    attempts: Sequence[Attempt],
    findings: Sequence[Sequence[Stretch]],
    kind: _Kind,
    count: int,
    positions: Sequence[str],
) -> _Chosen:
    # The mean of so many best attempts that are usable, best first.
    there = sorted(
        (i for i, at in enumerate(attempts) if isfinite(kind.value(at))), key=lambda i: -kind.value(attempts[i])
    )
    faults = {i: _faults(attempts[i], findings[i] if i < len(findings) else (), kind) for i in there}
    sound = [i for i in there if not any(not fault.accepted for fault in faults[i])]
    usable = _at_one_position(there, sound, [kind.value(at) for at in attempts], positions)
    used = tuple(usable[:count])
    said = [
        sentence
        for i in sorted(there)
        for sentence in _said(
            i, faults[i], taken=i in used, out=i not in usable and _matters(i, used, there, positions)
        )
    ]
    value = sum(kind.value(attempts[i]) for i in used) / len(used) if used else nan
    spread = sqrt(sum((kind.value(attempts[i]) * kind.error(attempts[i])) ** 2 for i in used))
    error = spread / len(used) / value if used and value > 0 else nan
    return _Chosen(value, error, used, tuple(usable), tuple(said))


def _position(place: int, positions: Sequence[str]) -> str:
    return positions[place] if place < len(positions) else ""


def _at_one_position(
    there: Sequence[int], sound: Sequence[int], values: Sequence[float], positions: Sequence[str]
) -> list[int]:
    # Of attempts, best first: the usable ones at the position of the best that is usable.
    usable = sound or there
    if sound and there[0] != sound[0]:
        other = _position(there[0], positions) != _position(sound[0], positions)
        if other and values[sound[0]] < COMES_NEAR * values[there[0]]:
            usable = there
    return [i for i in usable if _position(i, positions) == _position(usable[0], positions)]


def _matters(place: int, used: Sequence[int], there: Sequence[int], positions: Sequence[str]) -> bool:
    # Whether an attempt could have been used: it is at the position of the best one used, or higher.
    best = used[0]
    return _position(place, positions) == _position(best, positions) or there.index(place) < there.index(best)


def _faults(attempt: Attempt, findings: Sequence[Stretch], kind: _Kind) -> list[Stretch]:
    begin, end = kind.span(attempt)
    return [finding for finding in findings if finding.begin < end and begin < finding.end]


def _said(place: int, faults: list[Stretch], *, taken: bool, out: bool) -> list[str]:
    said = []
    for what, accepted in dict.fromkeys((fault.what, fault.accepted) for fault in faults):
        if out and not accepted:
            said.append(f"Attempt {place + 1} was left out: {what} inside its window.")
        elif taken and accepted:
            said.append(f"Attempt {place + 1} was taken with {what} inside its window, which was accepted.")
        elif taken:
            said.append(f"Attempt {place + 1} was taken though there is {what} inside its window: no other is better.")
    return said


def _missing(attempts: Sequence[Attempt], kind: _Kind) -> list[str]:
    return [
        f"Attempt {i + 1} has no value: no full window or plateau of {attempt.window_s:g} s."
        for i, attempt in enumerate(attempts)
        if isnan(kind.value(attempt))
    ]


def _too_few(chosen: _Chosen, wanted: int) -> list[str]:
    if len(chosen.usable) == 1:
        return ["There is only one attempt to take the reference from; nothing shows whether it was maximal."]
    if len(chosen.used) < wanted:
        return [f"The mean is over {len(chosen.used)} attempts, not the best {wanted}."]
    return []


def _apart(attempts: Sequence[Attempt], usable: Sequence[int], kind: _Kind, disagreement: float) -> list[str]:
    apart = _share_apart(attempts, usable, kind)
    if apart is None or apart <= disagreement:
        return []
    asked = f"at most {100 * disagreement:g} % is asked for"
    return [f"The best two attempts are {100 * apart:.0f} % apart ({_named(usable[:2])}); {asked}."]


def _share_apart(attempts: Sequence[Attempt], usable: Sequence[int], kind: _Kind) -> float | None:
    if len(usable) < 2:
        return None
    first, second = (kind.value(attempts[i]) for i in usable[:2])
    return 1 - second / first if first > 0 else 0.0


def _weak_windows(attempts: Sequence[Attempt], used: Sequence[int], kind: _Kind, *, highest: bool) -> list[str]:
    flags = [f"The maximum of attempt {i + 1} lies at the edge of its signal." for i in used if attempts[i].at_edge]
    shortest = min((attempts[i] for i in used), key=lambda attempt: attempt.window_s)
    if highest and shortest.window_s < SHORT_WINDOW_S:
        sentence = f"A highest window of {1000 * shortest.window_s:g} ms is biased upward"
        bias = bias_of_highest(kind.error(shortest), shortest.window_s, USUAL_EFFORT_S)
        known = f", by about {100 * bias:.0f} % in a steady effort of {USUAL_EFFORT_S:g} s" if isfinite(bias) else ""
        flags.append(f"{sentence}{known}.")
    return flags


def _named(places: Sequence[int]) -> str:
    numbers = [str(place + 1) for place in sorted(places)]
    return f"attempt {numbers[0]}" if len(numbers) == 1 else f"attempts {', '.join(numbers[:-1])} and {numbers[-1]}"


def _ratio(after: float, before: float) -> float:
    return after / before if before > 0 else nan
