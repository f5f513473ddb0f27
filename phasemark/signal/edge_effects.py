"""How far from the ends of a recording, and of its gaps, filtered values rest partly on what nobody recorded.

A filter without lag needs samples from both sides. Beyond an end there are none, and the end's reflection stands
in for them. How far that reaches is told by the impulse response of the double pass:

- high-pass and low-pass: to where 99.5 % of the sum of its absolute values lies nearer. Farther in, a value is off by
  at most 0.5 % (of that sum) of the largest difference between the reflection and what was really there.
- notch: to where what is left of it has 0.3 % of the root of its energy. A steady line does not count, since a pass
  begins with the line as found there (notch.notch). The EMG within its width does, and it is noise: farther in, a
  value is off by 0.3 % of the RMS of white noise, and by about 1 % of the RMS of EMG, which is stronger there.

Both limits are of this program's own making (no source). What template subtraction takes out begins and ends with a
beat and has no such stretch.
"""

from functools import lru_cache
from math import ceil

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate
from phasemark.model.recording import Samples
from phasemark.model.settings import FilterSettings
from phasemark.signal.gaps import Pieces, valid_pieces
from phasemark.signal.notch import notch_sections
from phasemark.signal.response import band_sections

_LEFT, _LEFT_BY_NOTCH = 0.005, 0.003
_PERIODS = 8  # of the slowest cut-off or width, after which nothing is left of an impulse


def _impulse_response(parts: list[NDArray[np.float64]], half: int) -> Samples:
    """Both passes' answer to an impulse, from it on to one side (it is even); shape (half + 1,)."""
    from scipy.signal import sosfiltfilt

    impulse = np.zeros(2 * half + 1)
    impulse[half] = 1.0
    for sections in parts:
        impulse = sosfiltfilt(sections, impulse)
    return np.asarray(impulse[half:], dtype=np.float64)


def _reach(weights: Samples, left: float) -> int:
    """Samples from the middle beyond which less than a share of the sum of weights, both sides together, lies."""
    both = 2 * weights.sum() - weights[0]
    farther = np.cumsum(weights[::-1])[::-1]  # on the one side where the end is
    return int(np.argmax(farther < left * both)) if (farther < left * both).any() else len(weights)


@lru_cache(maxsize=32)
def edge_samples(filters: FilterSettings, rate: Rate) -> int:
    """How many samples from an end filtered values rest partly on its reflection; 0 without filters.

    Raises:
        BadData: a filter does not fit the rate.
    """
    reach = 0
    band = band_sections(filters, rate)
    if band:
        slowest = filters.highpass_hz or filters.lowpass_hz or float(rate)
        answer = _impulse_response(band, ceil(_PERIODS * float(rate) / slowest))
        reach = _reach(np.abs(answer), _LEFT)
    if filters.notch_hz is not None:
        width = filters.notch_hz / filters.notch_q
        answer = _impulse_response([notch_sections(filters, rate)], ceil(_PERIODS * float(rate) / width))
        reach = max(reach, _reach(np.square(answer), _LEFT_BY_NOTCH**2))
    return reach


def edge_stretches(values: Samples, filters: FilterSettings, rate: Rate) -> Pieces:
    """Stretches [begin, end) of samples that rest partly on a reflection: at both ends of every piece between gaps.

    values: shape (samples,), NaN where missing. A piece shorter than both its stretches is one stretch whole.

    Raises:
        BadData: a filter does not fit the rate.
    """
    reach = edge_samples(filters, rate)
    if not reach:
        return ()
    stretches: list[tuple[int, int]] = []
    for begin, end in valid_pieces(values):
        if end - begin <= 2 * reach:
            stretches.append((begin, end))
        else:
            stretches += [(begin, begin + reach), (end - reach, end)]
    return tuple(stretches)
