"""Units of EMG as recordings state them, and their size in millivolts."""

from phasemark.model.errors import BadData

COUNTS = "counts"

# SI prefixes of the volt (BIPM, The International System of Units, 9th edition, table 7).
_MILLIVOLTS = {"V": 1e3, "mV": 1.0, "uV": 1e-3, "nV": 1e-6}
_SPELLINGS = {"µV": "uV", "μV": "uV", "microV": "uV", "volt": "V", "volts": "V", "millivolt": "mV",
              "millivolts": "mV", "microvolt": "uV", "microvolts": "uV", "nanovolt": "nV",
              "count": COUNTS, "adu": COUNTS, "raw counts": COUNTS}  # fmt: skip
EMG_UNITS = (*_MILLIVOLTS, COUNTS)


def parse_emg_unit(text: str) -> str:
    """The known EMG unit that a text means ('µV' is 'uV'); case counts, as mV and MV differ.

    Raises:
        BadData: the unit is not known; it is asked for and never guessed.
    """
    unit = text.strip()
    unit = _SPELLINGS.get(unit, _SPELLINGS.get(unit.lower(), unit))
    if unit not in EMG_UNITS:
        raise BadData(f"The EMG unit {text!r} is not known; state one of {', '.join(EMG_UNITS)}.")
    return unit


def millivolts_per_value(unit: str, gain: float) -> float:
    """Factor from a stored value to mV. The gain multiplies a value: into the unit, or a count into mV."""
    return gain if unit == COUNTS else gain * _MILLIVOLTS[unit]
