"""EMG whose unit or gain is a slip is said, and what is in range is not."""

from pathlib import Path

import numpy as np
import pytest
from text_files import save

from phasemark.formats import read_recording
from phasemark.formats.mapping import EmgColumn, Mapping
from phasemark.model.clock import parse_rate
from phasemark.model.recording import Treatment


def notes_on(folder: Path, millivolts: float, column: EmgColumn, offset: float = 0.0) -> list[str]:
    """What is said of the scale of EMG of this SD, written as such numbers and read by such a column."""
    values = offset + np.random.default_rng(4).normal(0, millivolts, 2000)
    path = save(folder, "\n".join(f"{value:.6e}" for value in values))
    recording = read_recording(path, Mapping((column,), (), parse_rate("1000"), None))
    return [note for note in recording.notes if "unit and gain" in note]


@pytest.mark.parametrize(
    ("number", "unit", "gain"),
    [
        *[(0.05, "mV", None), (2.0, "mV", None), (0.001, "mV", None), (50.0, "uV", None), (1.0, "uV", None)],
        *[(5e-5, "V", None), (300.0, "counts", 0.0003), (2.0, "V", 0.001)],
    ],
)
def test_usual_amplitudes_are_not_mentioned(tmp_path: Path, number: float, unit: str, gain: float | None) -> None:
    """From an amplifier's noise to a strong contraction, on any offset."""
    column = EmgColumn(1, "soleus", unit=unit, gain=gain)
    assert notes_on(tmp_path, number, column) == notes_on(tmp_path, number, column, 100 * number) == []


@pytest.mark.parametrize(
    ("number", "unit", "gain", "way"),
    [
        (100.0, "mV", None, "larger"),  # microvolts
        (0.1, "V", None, "larger"),  # millivolts
        (0.5, "V", None, "larger"),  # volts behind an amplifier of 1000
        (300.0, "counts", 1.0, "larger"),
        (0.1, "uV", None, "smaller"),  # millivolts
        (1e-4, "mV", None, "smaller"),  # volts
        (0.05, "mV", -0.001, "smaller"),
    ],
)
def test_units_a_thousand_times_off_are_said(
    tmp_path: Path, number: float, unit: str, gain: float | None, way: str
) -> None:
    (note,) = notes_on(tmp_path, number, EmgColumn(1, "soleus", unit=unit, gain=gain))
    assert note.startswith("soleus: its SD is ")
    assert f"far {way} than that of EMG; check its unit and gain" in note


def test_rectified_input_is_judged_too(tmp_path: Path) -> None:
    (note,) = notes_on(tmp_path, 100.0, EmgColumn(1, "soleus", unit="mV", treatment=Treatment.RECTIFIED))
    assert "far larger" in note
