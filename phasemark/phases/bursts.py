"""Bursts of an EMG envelope, where no movement trace tells the phases. A burst is called a burst, never a raising."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, clock_length
from phasemark.model.marks import BURST, Boundary, Marks, Phase
from phasemark.model.recording import Samples
from phasemark.model.settings import PhaseSettings
from phasemark.phases.marking import join
from phasemark.phases.pairing import Pairing
from phasemark.phases.thirds import place_all_thirds


@dataclass(frozen=True, slots=True)
class BurstRule:
    """Double threshold over the baseline (mean and SD of the quietest stretch, or as given).

    Below `edge_sd` SD over the baseline nothing is a burst (mean + 3 SD; Hodges and Bui 1996 tried 1 to 3); a burst
    must also reach `peak_share` of the usual burst height. Gaps under gap_s are closed, bursts under burst_s
    dropped (30 ms after Bonato et al. 1998, value from memory).
    """

    edge_sd: float = 3.0
    peak_share: float = 0.25
    gap_s: float = 0.2
    burst_s: float = 0.03
    baseline_s: float = 0.5


@dataclass(frozen=True, slots=True)
class Baseline:
    """Mean and SD of an envelope at rest, in its unit."""

    mean: float
    sd: float


DEFAULT_RULE = BurstRule()

FAINT_PEAK = 2.0
"""A burst whose peak is under so many times the baseline is doubted: noise alone reaches 1.3 to 1.6 times."""
FAINT_DOUBT = 0.6


def quietest(envelope: Samples, window: int) -> Baseline:
    """Mean and SD of the stretch of so many samples whose mean is lowest, none of them missing.

    Half-overlapping stretches are tried. Without one whole stretch, of all samples that are there.
    """
    if not np.isfinite(envelope).any():
        return Baseline(0.0, 0.0)
    starts = range(0, max(1, len(envelope) - window + 1), max(1, window // 2))
    means = [float(envelope[start : start + window].mean()) for start in starts]
    if not np.isfinite(means).any():
        valid = envelope[np.isfinite(envelope)]
        return Baseline(float(valid.mean()), float(valid.std()))
    start = starts[int(np.nanargmin(means))]
    part = envelope[start : start + window]
    return Baseline(float(part.mean()), float(part.std()))


def baseline_of(envelope: Samples, rate: Rate, rule: BurstRule) -> Baseline:
    """The baseline that a rule takes where none is given: the quietest stretch of its length."""
    return quietest(envelope, max(2, round(rule.baseline_s * float(rate))))


def _runs(above: NDArray[np.bool_]) -> list[tuple[int, int]]:
    flips = np.flatnonzero(np.diff(np.concatenate(([0], above.astype(np.int8), [0]))))
    return list(zip(flips[::2].tolist(), flips[1::2].tolist(), strict=True))


def find_bursts(
    envelope: Samples,
    rate: Rate,
    rule: BurstRule = DEFAULT_RULE,
    baseline: Baseline | None = None,
    window_s: float = 0.0,
) -> tuple[tuple[int, int], ...]:
    """Bursts [begin, end) in samples of the envelope, shape (samples,), NaN where missing.

    1. The lower threshold is edge_sd SD above the baseline's mean: what lies above it is a run.
    2. The upper threshold is peak_share of the way from the baseline to the usual peak (median of the
       runs' peaks that reach half of the highest): runs that stay under it are dropped.
    3. Runs left that are less than gap_s apart, with no sample missing between them, are one burst; bursts
       that last less than burst_s are dropped.
    4. A moving RMS over window_s (0: none) sees a burst before it begins. A step of the amplitude from the
       baseline to the burst's level crosses the lower threshold when the window holds so much of the burst
       that mean squares agree; begin and end are set back by what is left of half the window.
    """
    rest = baseline_of(envelope, rate, rule) if baseline is None else baseline
    low = rest.mean + rule.edge_sd * rest.sd
    runs = _runs(envelope > low)
    if not runs:
        return ()
    peaks = np.array([float(envelope[begin:end].max()) for begin, end in runs]) - rest.mean
    high = rule.peak_share * float(np.median(peaks[peaks >= peaks.max() / 2]))
    joined: list[tuple[int, int]] = []
    for (begin, end), peak in zip(runs, peaks, strict=True):
        if peak < high:
            continue
        if joined and begin - joined[-1][1] < rule.gap_s * float(rate) and not _missing(envelope, joined[-1][1], begin):
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((begin, end))
    found = []
    for begin, end in joined:
        inward = _spread(float(np.nanmedian(envelope[begin:end])), low, rest) * window_s * float(rate)
        edges = (begin + round(inward), end - round(inward))
        if edges[1] - edges[0] >= max(1, rule.burst_s * float(rate)):
            found.append(edges)
    return tuple(found)


def _spread(level: float, low: float, rest: Baseline) -> float:
    """Share of a moving-RMS window by which a threshold is crossed before a step from the baseline to a level."""
    held = (low**2 - rest.mean**2) / max(level**2 - rest.mean**2, 1e-300)
    return 0.5 - min(0.5, max(0.0, held))


def _missing(envelope: Samples, begin: int, end: int) -> bool:
    return bool(np.isnan(envelope[begin:end]).any())


def _with_doubts(marks: Marks, envelope: Samples, rate: Rate, clock: Rate, rest: Baseline) -> Marks:
    """The marks, bursts that hardly stand out from the baseline doubted: a muscle at rest has such too."""
    reps = []
    for rep in marks.reps:
        part = envelope[clock_length(rep.begin, clock, rate) : clock_length(rep.end, clock, rate)]
        peak = float(np.nanmax(part)) if np.isfinite(part).any() else float("nan")
        faint = rest.mean > 0 and peak < FAINT_PEAK * rest.mean
        doubts = (f"peak of the envelope only {peak / rest.mean:.1f} times the baseline",) if faint else ()
        reps.append(replace(rep, doubt=FAINT_DOUBT if faint else 0.0, doubts=doubts))
    return replace(marks, reps=tuple(reps))


def burst_rule_text(rule: BurstRule = DEFAULT_RULE) -> str:
    """The rule that bursts are marked by, in words."""
    return (
        f"bursts of the EMG envelope: over the baseline by {rule.edge_sd:g} SD, "
        f"with a peak of {rule.peak_share:.0%} of the usual one; gaps under {rule.gap_s:g} s closed"
    ).replace("%", " %")


def mark_bursts(  # noqa: PLR0917 - the other rooms call it so
    envelope: Samples,
    rate: Rate,
    clock: Rate,
    length: int,
    settings: PhaseSettings,
    before: Marks,
    *,
    rule: BurstRule = DEFAULT_RULE,
    baseline: Baseline | None = None,
    window_s: float = 0.0,
) -> Marks:
    """Marks of a trial from the bursts of one envelope: each a complete rep of one phase called a burst.

    window_s is the window (s) of the moving RMS that the envelope is, 0 for another envelope; see find_bursts.
    What a hand has touched in `before` stays, as in mark_trial. Thirds can only be thirds of time, if asked for.
    """
    pairings = []
    for begin, end in find_bursts(envelope, rate, rule, baseline, window_s):
        first, last = clock_length(begin, rate, clock), min(clock_length(end, rate, clock), length)
        if first < last:
            pairings.append(Pairing((Phase(BURST, Boundary(first), Boundary(last)),), complete=True))
    marks = replace(join(tuple(pairings), before, None, settings), phase_rule=burst_rule_text(rule))
    rest = baseline_of(envelope, rate, rule) if baseline is None else baseline
    return place_all_thirds(_with_doubts(marks, envelope, rate, clock, rest), None, settings)
