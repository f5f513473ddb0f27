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


def quietest(envelope: Samples, window: int) -> Baseline:
    """Mean and SD of the stretch of so many samples whose mean is lowest; missing samples end a stretch.

    Half-overlapping stretches are tried. Without one whole stretch, of all samples that are there.
    """
    starts = range(0, max(1, len(envelope) - window + 1), max(1, window // 2))
    means = [float(envelope[start : start + window].mean()) for start in starts]
    if not np.isfinite(means).any():
        valid = envelope[np.isfinite(envelope)]
        return Baseline(float(valid.mean()), float(valid.std())) if len(valid) else Baseline(0.0, 0.0)
    start = starts[int(np.nanargmin(means))]
    part = envelope[start : start + window]
    return Baseline(float(part.mean()), float(part.std()))


def _runs(above: NDArray[np.bool_]) -> list[tuple[int, int]]:
    flips = np.flatnonzero(np.diff(np.concatenate(([0], above.astype(np.int8), [0]))))
    return list(zip(flips[::2].tolist(), flips[1::2].tolist(), strict=True))


def find_bursts(
    envelope: Samples, rate: Rate, rule: BurstRule = DEFAULT_RULE, baseline: Baseline | None = None
) -> tuple[tuple[int, int], ...]:
    """Bursts [begin, end) in samples of the envelope, shape (samples,), NaN where missing.

    1. The lower threshold is edge_sd SD above the baseline's mean; runs above it less than gap_s apart are one.
    2. The upper threshold is peak_share of the way from the baseline to the usual peak (median of the
       runs' peaks that reach half of the highest); runs that stay under it, or last less than burst_s, are dropped.
    """
    rest = quietest(envelope, max(2, round(rule.baseline_s * float(rate)))) if baseline is None else baseline
    low = rest.mean + rule.edge_sd * rest.sd
    joined: list[tuple[int, int]] = []
    for begin, end in _runs(envelope > low):
        if joined and begin - joined[-1][1] < rule.gap_s * float(rate) and not _missing(envelope, joined[-1][1], begin):
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((begin, end))
    peaks = np.array([float(np.nanmax(envelope[begin:end])) for begin, end in joined])
    if len(peaks) == 0:
        return ()
    usual = float(np.median(peaks[peaks - rest.mean >= (peaks.max() - rest.mean) / 2]))
    high = rest.mean + rule.peak_share * (usual - rest.mean)
    return tuple(
        (begin, end)
        for (begin, end), peak in zip(joined, peaks, strict=True)
        if peak >= high and end - begin >= rule.burst_s * float(rate)
    )


def _missing(envelope: Samples, begin: int, end: int) -> bool:
    return bool(np.isnan(envelope[begin:end]).any())


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
) -> Marks:
    """Marks of a trial from the bursts of one envelope: each a complete rep of one phase called a burst.

    What a hand has touched in `before` stays, as in mark_trial. Thirds can only be thirds of time, if asked for.
    """
    pairings = []
    for begin, end in find_bursts(envelope, rate, rule, baseline):
        first, last = clock_length(begin, rate, clock), min(clock_length(end, rate, clock), length)
        if first < last:
            pairings.append(Pairing((Phase(BURST, Boundary(first), Boundary(last)),), complete=True))
    text = (
        f"bursts of the EMG envelope: over the baseline by {rule.edge_sd:g} SD, "
        f"with a peak of {rule.peak_share:.0%} of the usual one; gaps under {rule.gap_s:g} s closed"
    ).replace("%", " %")
    marks = replace(join(tuple(pairings), before, None, settings), phase_rule=text)
    return place_all_thirds(marks, None, settings)
