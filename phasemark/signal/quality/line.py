"""Check for power-line interference."""

import numpy as np

from phasemark.model.recording import Samples
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.inspected import PERCENT, Inspected
from phasemark.signal.quality.spectra import fine_spectrum

_FROM_HZ = 5.0
_USUAL_HZ = (50.0, 60.0)
_HALF_WIDTH_HZ = 1.5  # the line's own band; wide enough for a mains frequency that wanders
_NEIGHBOURS_HZ = 4.0  # how far beyond it the spectrum beside the line is looked at
_STANDS_OUT = 2.0  # a harmonic counts when its band has more than so many times the power of the spectrum beside it
_HARMONICS = 10


def line_powers(frequencies: Samples, power: Samples, line_hz: float) -> dict[float, float]:
    """Power (mV^2) above the spectrum beside it, at a line and its harmonics, for those that stand out.

    The mean of the spectrum within 4 Hz on either side of the line's band (+-1.5 Hz, or two lines of the spectrum)
    is taken away from the band, so that EMG there is not counted.
    """
    half = max(_HALF_WIDTH_HZ, 2 * float(frequencies[1]))
    found: dict[float, float] = {}
    for harmonic in range(1, _HARMONICS + 1):
        centre = harmonic * line_hz
        distance = np.abs(frequencies - centre)
        if centre + half + _NEIGHBOURS_HZ > frequencies[-1]:
            break
        band, beside = distance <= half, (distance > half) & (distance <= half + _NEIGHBOURS_HZ)
        expected = float(power[beside].mean()) * int(band.sum())
        own = float(power[band].sum())
        if own > _STANDS_OUT * expected:
            found[centre] = own - expected
    return found


def _strongest(frequencies: Samples, power: Samples, candidates: set[float]) -> tuple[float, dict[float, float]]:
    each = {hz: line_powers(frequencies, power, hz) for hz in sorted(candidates)}
    best = max(each, key=lambda hz: sum(each[hz].values()))
    return best, each[best]


def line_interference(about: Inspected) -> Finding | None:
    """Share of the power (from 5 Hz on) at a line and its harmonics above the spectrum beside them.

    The stated frequency, 50 and 60 Hz are tried; the strongest is reported. None under one second of signal.
    """
    spectrum = fine_spectrum(about.raw, about.rate)
    if spectrum is None:
        return None
    frequencies, power = spectrum
    whole = float(power[frequencies >= _FROM_HZ].sum())
    if whole <= 0:
        return None
    hz, lines = _strongest(frequencies, power, {about.settings.line_hz, *_USUAL_HZ})
    share, limit = PERCENT * sum(lines.values()) / whole, PERCENT * about.settings.line_share
    if not lines:
        sentence = "No power-line frequency stands out of the spectrum."
    else:
        sentence = f"{share:.2g} % of the power stands out at {_listed(lines)}"
        sentence += (
            ": power-line interference; a notch is an option, but it takes out EMG as well."
            if share > limit
            else f": little interference of a {hz:g} Hz power line."
        )
    return Finding(Check.LINE, share, "%", limit, share > limit, sentence)


def _listed(lines: dict[float, float]) -> str:
    names = [f"{hz:g}" for hz in lines]
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1]))) + " Hz"
