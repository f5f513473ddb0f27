"""Check for channels that are suspiciously alike: a copied channel, cross-talk, a disturbance in both."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import nearest_sample
from phasemark.model.quality_settings import QualitySettings
from phasemark.model.recording import EmgChannel, Samples
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.inspected import PERCENT

_COPIED = 98.0  # per cent in common, from which two channels are one: two electrodes never share so much
_LEAST_S = 1
_BLOCK = 512


@dataclass(frozen=True, slots=True)
class PairFinding:
    """What was found in two channels, by their places in the recording."""

    first: int
    second: int
    finding: Finding


def alike_findings(
    conditioned: Sequence[Conditioned], channels: Sequence[EmgChannel], settings: QualitySettings
) -> tuple[PairFinding, ...]:
    """Share (%) of the power that each pair of filtered channels has in common, flagged or not.

    The largest squared correlation of the two signals within +-alike_lag_ms of each other, as cross-talk has been
    measured (Winter, Fuglevand & Archer 1994, J Electromyogr Kinesiol 4:15-26, from memory). Pairs of unlike rates or
    treatments, with under one second in common, or one of them without any signal, have none.
    """
    found: list[PairFinding] = []
    groups: dict[object, list[int]] = {}
    for place, each in enumerate(conditioned):
        groups.setdefault((each.rate, each.treatment), []).append(place)
    for places in groups.values():
        shares = _common_shares([conditioned[p] for p in places], settings)
        for i, first in enumerate(places):
            for j in range(i + 1, len(places)):
                if np.isfinite(shares[i, j]):
                    names = channels[first].label, channels[places[j]].label
                    found.append(PairFinding(first, places[j], _finding(float(shares[i, j]), names, settings)))
    return tuple(sorted(found, key=lambda pair: (pair.first, pair.second)))


def _standardised(group: Sequence[Conditioned]) -> Samples:
    """Channels as rows of one matrix, without their mean, of unit length; missing samples 0, no signal all 0."""
    rows = np.zeros((len(group), max(len(each.values) for each in group)))
    for row, each in zip(rows, group, strict=True):
        present = np.isfinite(each.values)
        if present.any():
            row[: len(each.values)] = np.where(present, each.values - each.values[present].mean(), 0.0)
    sizes = np.linalg.norm(rows, axis=1, keepdims=True)
    return np.asarray(rows / np.where(sizes > 0, sizes, 1.0))


def _products(rows: Samples, others: Samples) -> Samples:
    """Rows @ others.T, block by block of samples: small products stay in the cache and on one thread."""
    count, whole = len(rows), rows.shape[1] // _BLOCK * _BLOCK
    left = rows[:, :whole].reshape(count, -1, _BLOCK).transpose(1, 0, 2)
    right = others[:, :whole].reshape(count, -1, _BLOCK).transpose(1, 2, 0)
    return np.asarray(np.matmul(left, right).sum(axis=0) + rows[:, whole:] @ others[:, whole:].T)


def _common_shares(group: Sequence[Conditioned], settings: QualitySettings) -> Samples:
    """Largest squared correlation (%) of each pair within the lag, shape (channels, channels); nan where none."""
    rate = group[0].rate
    rows = _standardised(group)
    length = rows.shape[1]
    present = [bool(row.any()) and np.isfinite(c.values).sum() >= _LEAST_S * rate for row, c in
               zip(rows, group, strict=True)]  # fmt: skip
    largest = np.zeros((len(group), len(group)))
    for lag in range(min(nearest_sample(Fraction(settings.alike_lag_ms) / 1000, rate), length - 1) + 1):
        lagged = np.square(_products(rows[:, : length - lag], rows[:, lag:]))
        largest = np.maximum(largest, np.maximum(lagged, lagged.T))
    usable: NDArray[np.bool_] = np.outer(present, present)
    return np.where(usable, PERCENT * np.minimum(largest, 1.0), np.nan)


def _finding(share: float, names: tuple[str, str], settings: QualitySettings) -> Finding:
    limit = PERCENT * settings.alike_share
    what = f"{names[0]} and {names[1]} have {share:.0f} % of their power in common"
    if share >= _COPIED and share > limit:
        sentence = f"{what}: they are one signal recorded twice; look which column belongs to which muscle."
    elif share > limit:
        sentence = f"{what}: cross-talk between the muscles, or a disturbance that lies over both; do not compare them."
    else:
        sentence = f"{what}: no more than neighbouring muscles have."
    return Finding(Check.ALIKE, share, "%", limit, share > limit, sentence)
