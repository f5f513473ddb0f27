"""Zero-phase Butterworth filters whose order and cut-off are stated for the whole double pass.

A filter run forward and backward is at -6 dB where one pass is at -3 dB. So that the double pass is at -3 dB
where the user said, the cut-off of a pass is moved by C = (sqrt(2) - 1) ** (1 / (2 N)), N being the order of a
pass (0.802 for N = 2; Winter 2009, Biomechanics and Motor Control of Human Movement, 4th ed., ch. 3;
Robertson & Dowling 2003, J Electromyogr Kinesiol 13:569-573). Dividing the frequency itself by C holds for
analogue filters; a digital one needs it in the pre-warped (tangent) domain, or a 500 Hz low-pass at 2 kHz is
at -1.8 dB. Order 4 is therefore second order run twice.
"""

from functools import lru_cache
from math import atan, pi, sqrt, tan
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from phasemark.model.clock import Rate, rate_text
from phasemark.model.errors import BadData
from phasemark.model.recording import Samples
from phasemark.signal.gaps import valid_pieces

Kind = Literal["lowpass", "highpass"]
Extension = Literal["odd", "even"]
_NAMES: dict[Kind, str] = {"lowpass": "low-pass", "highpass": "high-pass"}


def fitting_lowpass(rate: Rate) -> float:
    """A low-pass cut-off (Hz) that fits a sampling rate: 45 % of it, to three digits, a tenth below its limit."""
    return float(f"{0.45 * float(rate):.3g}")


def check_cutoff(
    kind: Kind, rate: Rate, cutoff_hz: float, subject: str = "the signal", above_hz: float | None = None
) -> None:
    """Refuse a cut-off that a sampling rate cannot hold: it must be below half the rate.

    subject names the signal in the sentence; above_hz is the high-pass that a low-pass must stay above.

    Raises:
        BadData: one sentence with the limit and, for a low-pass, a cut-off that would fit.
    """
    if cutoff_hz < rate / 2:
        return
    mend = f"it must be below {float(rate / 2):.6g} Hz"
    if kind == "lowpass":
        fitting = fitting_lowpass(rate)
        mend += f"; {fitting:g} Hz would fit" if fitting > (above_hz or 0.0) else "; switch the low-pass off"
    raise BadData(
        f"The {_NAMES[kind]} at {cutoff_hz:g} Hz does not fit {subject}, sampled at {rate_text(rate)} Hz: {mend}."
    )


def corrected_cutoff(kind: Kind, rate: Rate, cutoff_hz: float, order: int) -> float:
    """Cut-off (Hz) of a single pass, for which the double pass of this whole order is at -3 dB at cutoff_hz."""
    factor = (sqrt(2) - 1) ** (1 / order)  # order is 2 N: both passes together
    warped = tan(pi * cutoff_hz / float(rate))
    return float(rate) / pi * atan(warped / factor if kind == "lowpass" else warped * factor)


@lru_cache(maxsize=64)
def _sections(kind: Kind, rate: Rate, cutoff_hz: float, order: int) -> NDArray[np.float64]:
    from scipy.signal import butter

    cutoff = corrected_cutoff(kind, rate, cutoff_hz, order)
    return np.asarray(butter(order // 2, cutoff, kind, fs=float(rate), output="sos"), dtype=np.float64)


def design(kind: Kind, rate: Rate, cutoff_hz: float, order: int) -> NDArray[np.float64]:
    """Second-order sections, shape (sections, 6), of ONE pass of a zero-phase filter of this whole order.

    Raises:
        BadData: the cut-off is not below half the rate.
        ValueError: the order is not even, so that it cannot be two equal passes.
    """
    if order < 2 or order % 2:
        raise ValueError(f"the order of a double pass is even, not {order}")
    check_cutoff(kind, rate, cutoff_hz)
    return _sections(kind, rate, cutoff_hz, order).copy()  # a caller cannot write into the cache


def _usual_extension(order: int) -> int:
    # What scipy.signal.sosfiltfilt extends a signal by: three times the taps of a pass, its order and one.
    return 3 * (order // 2 + 1)


def shortest_piece(order: int) -> int:
    """Samples a piece needs to be filtered: one more than three times the taps of a pass (10 for order 4)."""
    return _usual_extension(order) + 1


def _zero_phase(
    x: Samples, sections: NDArray[np.float64], order: int, extension: Extension, extend_by: int | None
) -> Samples:
    from scipy.signal import sosfiltfilt

    shortest, wanted = shortest_piece(order), max(_usual_extension(order), extend_by or 0)

    def filtered(piece: Samples) -> Samples:
        padding = min(wanted, len(piece) - 1)
        return np.asarray(sosfiltfilt(sections, piece, padtype=extension, padlen=padding), dtype=np.float64)

    pieces = valid_pieces(x)
    if pieces == ((0, len(x)),) and len(x) >= shortest:
        return filtered(x)  # the usual case, without another copy
    result = np.full(len(x), np.nan)
    for begin, end in pieces:
        if end - begin >= shortest:
            result[begin:end] = filtered(x[begin:end])
    return result


def low_pass(
    x: Samples,
    rate: Rate,
    cutoff_hz: float,
    order: int,
    *,
    extension: Extension = "odd",
    extend_by: int | None = None,
) -> Samples:
    """The signal low-passed forward and backward: no lag, -3 dB at cutoff_hz, of this whole order.

    1. The signal, shape (samples,), is parted at its missing samples; nothing is filled in.
    2. Each piece is extended at both ends by its reflection about the end sample ('odd', turned upside down, for
       signals that swing about any level; 'even', as it is, for rectified ones), by three times the filter's
       taps or by extend_by samples where that is more (and the piece long enough).
    3. Second-order sections run forward and backward (scipy.signal.sosfiltfilt).

    A piece of fewer than shortest_piece(order) samples (10 for order 4) comes back missing: a filter that
    cannot start up on it would return the start-up and not the signal. Near the ends of a piece, within about
    one period of the cut-off, values rest partly on the reflection. A step overshoots by 4 % (order 4).

    Raises:
        BadData: the cut-off is not below half the rate.
    """
    return _zero_phase(x, design("lowpass", rate, cutoff_hz, order), order, extension, extend_by)


def high_pass(
    x: Samples,
    rate: Rate,
    cutoff_hz: float,
    order: int,
    *,
    extension: Extension = "odd",
    extend_by: int | None = None,
) -> Samples:
    """The signal high-passed forward and backward; in all else as low_pass."""
    return _zero_phase(x, design("highpass", rate, cutoff_hz, order), order, extension, extend_by)
