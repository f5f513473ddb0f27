"""Cells of a trial under moved boundaries, in the unit of the comparison."""

from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import nearest_sample
from phasemark.model.plan import Outcome
from phasemark.model.study import Trial
from phasemark.results.comparison.cells import PERCENT, CellKey
from phasemark.results.comparison.reading import CountedValue, MeasuredChannel
from phasemark.results.holds import is_hold
from phasemark.results.robustness.boundaries import boundaries_of, moved
from phasemark.results.robustness.frame import Frame
from phasemark.results.robustness.moved_values import Moves, moved_amplitudes
from phasemark.signal.baseline import each_without_noise
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.normalise import percent_of


def moved_cells(
    frame: Frame, trial: Trial, channel: Callable[[int], Conditioned]
) -> dict[CellKey, NDArray[np.float64]]:
    """A trial's cells under each row of moved boundaries: means over counted reps, shape (rows,), nan where missing.

    channel gives the channel at a place in the trial, filtered as planned.
    """
    counted = frame.counted.get(trial.id, ())
    if not counted:
        return {}
    settings = frame.numbers.study.settings
    holds = [one.value.segment for one in counted] if is_hold(frame.numbers.study, trial) else []
    boundaries = boundaries_of(trial.marks_of(frame.numbers.rater), holds)
    shift = nearest_sample(settings.uncertainty.shift_s, trial.clock)
    positions = moved(boundaries, shift, frame.draws, frame.seed, trial.id)
    moves = Moves(boundaries, positions, trial.clock)
    cells: dict[CellKey, NDArray[np.float64]] = {}
    for place, own in _by_channel(counted):
        found = moved_amplitudes(channel(place), [one.value.segment for one in own], moves, frame.plan.outcome)
        cells |= mean_of_each([one.key for one in own], in_unit(frame, own[0].channel, found))
    return cells


def _by_channel(counted: Iterable[CountedValue]) -> Iterator[tuple[int, list[CountedValue]]]:
    groups: dict[int, list[CountedValue]] = {}
    for one in counted:
        groups.setdefault(one.value.channel, []).append(one)
    yield from groups.items()


def in_unit(frame: Frame, channel: MeasuredChannel, values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Amplitudes (mV) of a channel in the unit of the comparison, as MeasuredChannel.amplitude states a single one.

    The reference and the noise are those of the analysis as planned.
    """
    which = "rms" if frame.plan.outcome is Outcome.RMS else "mean_amplitude"
    if frame.numbers.study.settings.baseline.subtract and channel.noise is not None:
        values = each_without_noise(values, getattr(channel.noise, which))
    if frame.comparison.unit != PERCENT:
        return values
    reference = np.nan if channel.normaliser is None else getattr(channel.normaliser, which)
    return values * percent_of(1.0, reference)


def mean_of_each(keys: Sequence[CellKey], values: NDArray[np.float64]) -> dict[CellKey, NDArray[np.float64]]:
    """Means over the rows of values, shape (keys, draws), that share a key; missing ones are left out."""
    rows: dict[CellKey, list[int]] = {}
    for row, key in enumerate(keys):
        rows.setdefault(key, []).append(row)
    return {key: mean_there(values[own]) for key, own in rows.items()}


def mean_there(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean over the first axis of the values that are there; nan where none is."""
    there = np.isfinite(values)
    count = there.sum(axis=0)
    total = np.where(there, values, 0.0).sum(axis=0)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)
