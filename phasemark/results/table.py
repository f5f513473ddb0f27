"""Results as columns of equal length, the form in which the project file keeps them."""

from collections.abc import Iterable, Mapping

import numpy as np
from numpy.typing import NDArray

from phasemark.model.errors import BadData
from phasemark.results.measure import TrialResults, Value
from phasemark.results.segments import Segment
from phasemark.signal.amplitude import Amplitude

Column = NDArray[np.float64] | NDArray[np.int64] | tuple[str, ...]
_WHOLE_NUMBERS = ("rep", "channel", "begin", "pause_begin", "pause_end", "end", "valid", "samples")
_TEXTS = ("trial", "rater", "phase", "third")
_DECIMALS = ("rms_mV", "mean_amplitude_mV")


def to_columns(results: Iterable[TrialResults]) -> dict[str, Column]:
    """Values of many trials, one line each; a segment's two pieces are told apart by its pause."""
    lines = [(found, value) for found in results for value in found.values]
    columns: dict[str, Column] = {
        "trial": tuple(found.trial for found, _ in lines),
        "rater": tuple(found.rater for found, _ in lines),
        "phase": tuple(value.segment.phase for _, value in lines),
        "third": tuple(value.segment.third for _, value in lines),
    }
    numbers = np.array([_numbers(value) for _, value in lines], dtype=np.int64).reshape(-1, len(_WHOLE_NUMBERS))
    columns |= {name: numbers[:, place] for place, name in enumerate(_WHOLE_NUMBERS)}
    columns["rms_mV"] = np.array([value.amplitude.rms for _, value in lines], dtype=np.float64)
    columns["mean_amplitude_mV"] = np.array([value.amplitude.mean_amplitude for _, value in lines], dtype=np.float64)
    return columns


def _numbers(value: Value) -> tuple[int, ...]:
    pieces, found = value.segment.pieces, value.amplitude
    pause = (pieces[0][1], pieces[1][0]) if len(pieces) == 2 else (-1, -1)
    return (value.rep, value.channel, value.segment.begin, *pause, value.segment.end, found.valid, found.samples)


def from_columns(
    keys: Mapping[tuple[str, str], str], columns: Mapping[str, Column]
) -> dict[tuple[str, str], TrialResults]:
    """The results that were kept, by trial and rater; keys hold what each was computed from.

    Raises:
        BadData: a column is missing.
    """
    absent = [name for name in (*_TEXTS, *_WHOLE_NUMBERS, *_DECIMALS) if name not in columns]
    if absent and columns:
        raise BadData(f"The results of the study lack {', '.join(absent)}; measure it again.")
    held: dict[tuple[str, str], list[Value]] = {key: [] for key in keys}
    if columns:
        lists = [list(columns[name]) for name in (*_TEXTS, *_WHOLE_NUMBERS, *_DECIMALS)]
        for trial, rater, phase, third, *rest in zip(*lists, strict=True):
            if (trial, rater) in held:
                held[trial, rater].append(_value(phase, third, [int(n) for n in rest[:8]], rest[8], rest[9]))
    return {key: TrialResults(*key, keys[key], tuple(values)) for key, values in held.items()}


def _value(phase: str, third: str, numbers: list[int], rms: float, mean_amplitude: float) -> Value:
    rep, channel, begin, pause_begin, pause_end, end, valid, samples = numbers
    pieces = ((begin, end),) if pause_begin < 0 else ((begin, pause_begin), (pause_end, end))
    return Value(
        rep, channel, Segment(phase, third, pieces), Amplitude(float(rms), float(mean_amplitude), valid, samples)
    )
