"""The single efforts within a recording of maximum contractions, so that each counts as an attempt of its own."""

from itertools import pairwise

import numpy as np

from phasemark.model.recording import Samples, Treatment
from phasemark.signal.block_sums import block_sums
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.envelope import moving_mean_amplitude, moving_rms

ACTIVE_SHARE = 0.5
"""An effort is where the moving amplitude is over this share of its highest (common practice, no source)."""
APART_S = 1.0
"""Efforts lie at least so long (s) apart; a shorter dip is part of one (common practice, no source)."""

Stretch = tuple[int, int]


def efforts(conditioned: Conditioned, window_s: float) -> tuple[Stretch, ...]:
    """Stretches [begin, end) of a channel's samples with one effort each, which together are the whole channel.

    1. The moving RMS (of a rectified channel the moving mean amplitude) over window_s.
    2. Runs over ACTIVE_SHARE of its highest value, joined where under APART_S lies between them.
    3. The channel is parted halfway between neighbouring runs, so that no effort is cut.

    The whole channel where it has no full window.
    """
    moving = moving_mean_amplitude if conditioned.treatment is Treatment.RECTIFIED else moving_rms
    levels = moving(conditioned.values, conditioned.rate, window_s)
    runs = _runs(levels, APART_S * float(conditioned.rate))
    length = len(conditioned.values)
    cuts = [0, *((before[1] + after[0]) // 2 for before, after in pairwise(runs)), length]
    return tuple(pairwise(cuts))


def _runs(levels: Samples, apart: float) -> list[Stretch]:
    if np.isnan(levels).all():
        return []
    active = np.flatnonzero(np.nan_to_num(levels) >= ACTIVE_SHARE * np.nanmax(levels))
    breaks = np.flatnonzero(np.diff(active) > apart)
    firsts = [active[0], *active[breaks + 1]]
    lasts = [*active[breaks], active[-1]]
    return [(int(first), int(last) + 1) for first, last in zip(firsts, lasts, strict=True)]


def within(conditioned: Conditioned, stretch: Stretch) -> Conditioned:
    """The channel with everything outside a stretch missing; places in it stay what they are."""
    begin, end = stretch
    if (begin, end) == (0, len(conditioned.values)):
        return conditioned
    values = np.full(len(conditioned.values), np.nan)
    values[begin:end] = conditioned.values[begin:end]
    values.flags.writeable = False
    return Conditioned(values, conditioned.rate, block_sums(values), conditioned.treatment)
