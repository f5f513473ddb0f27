"""What values say against what a mapping says of them: a slip in unit or gain, and nothing at the electrode."""

import numpy as np

from phasemark.model.recording import EmgChannel, Samples
from phasemark.model.units import millivolts_per_value

# Surface EMG is up to some 10 mV from peak to peak, and amplifiers have noise of about a microvolt (common
# practice, no source). A unit that is wrong is so by a thousand; the limits leave room for odd recordings.
_LARGEST_MV = 20.0
_SMALLEST_MV = 0.0002


def constant_note(label: str, values: Samples) -> tuple[str, ...]:
    """The sentence on a trace that never changes, as that of an electrode or a sensor that was not connected."""
    given = values[~np.isnan(values)]
    if len(given) < 2 or np.any(given != given[0]):
        return ()
    return (f"{label}: all its values are {given[0]:g}; check that it was connected",)


def scale_note(channel: EmgChannel, values: Samples) -> tuple[str, ...]:
    """The sentence on EMG that is a thousand times too large or too small, judged by the SD of its values (mV)."""
    given = values[~np.isnan(values)]
    factor = abs(millivolts_per_value(channel.unit, 1.0 if channel.gain is None else channel.gain))
    spread = factor * float(np.std(given)) if len(given) else 0.0
    if spread == 0 or _SMALLEST_MV <= spread <= _LARGEST_MV:
        return ()
    way = "larger" if spread > _LARGEST_MV else "smaller"
    return (f"{channel.label}: its SD is {spread:.2g} mV, far {way} than that of EMG; check its unit and gain",)
