"""The chain on real recordings against a few lines of plain scipy.

'EMG Dataset in Lower Limb', Sanchez O, Sotelo J (2014), UCI Machine Learning Repository,
doi 10.24432/C5ZW3P, CC BY 4.0.
"""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from scipy import signal

from phasemark.model.recording import EmgChannel, Samples
from phasemark.model.settings import EnvelopeSettings, FilterSettings
from phasemark.signal.amplitude import amplitude
from phasemark.signal.conditioning import condition
from phasemark.signal.envelope import envelope
from phasemark.signal.pyramid import build, columns

RATE = Fraction(1000)
MUSCLES = ("rectus femoris", "biceps femoris", "vastus medialis", "semitendinosus")
TRIALS = ("5Asen", "4Nsen", "3Npie", "10Nmar", "6Nsen")


def _number(cell: str) -> float:
    return float(cell) if cell.strip() else np.nan


def _emg(folder: Path, trial: str) -> list[Samples]:
    """The four EMG columns of a trial, up to the last row that has any EMG."""
    text = (folder / "knee_emg" / f"{trial}.txt").read_text(encoding="latin-1")
    rows = text.replace("\r", "").split("\n\n", 1)[1].splitlines()
    table = np.array([[_number(cell) for cell in row.split("\t")[:4]] for row in rows if "\t" in row])
    return [np.ascontiguousarray(column) for column in table[np.isfinite(table).any(axis=1)].T]


def _band_passed(x: Samples) -> Samples:
    """20-450 Hz, each second order forward and backward, -3 dB there after both passes (tangent domain)."""
    factor = (np.sqrt(2) - 1) ** 0.25
    high, low = (np.arctan(np.tan(np.pi * f / 1000) * k) * 1000 / np.pi for f, k in ((20, factor), (450, 1 / factor)))
    y = signal.sosfiltfilt(signal.butter(2, high, "highpass", fs=1000, output="sos"), x - x.mean())
    return signal.sosfiltfilt(signal.butter(2, low, fs=1000, output="sos"), y)


@pytest.mark.parametrize("trial", TRIALS)
def test_amplitude_of_any_segment_of_a_real_trial_is_that_of_plain_scipy(open_data: Path, trial: str) -> None:
    rng = np.random.default_rng(1)
    for muscle, raw in zip(MUSCLES, _emg(open_data, trial), strict=True):
        conditioned = condition(raw, EmgChannel(muscle, RATE), FilterSettings())
        plain = _band_passed(raw)
        for _ in range(20):
            begin = int(rng.integers(0, len(raw) - 600))
            end = begin + int(rng.integers(50, 600))
            found = amplitude(conditioned, begin, end)
            assert found.rms == pytest.approx(np.sqrt(np.mean(plain[begin:end] ** 2)), rel=1e-8)
            assert found.mean_amplitude == pytest.approx(np.mean(np.abs(plain[begin:end])), rel=1e-8)


def test_the_envelope_of_a_real_trial_is_that_of_plain_numpy(open_data: Path) -> None:
    raw = _emg(open_data, "5Asen")[0]
    found = envelope(condition(raw, EmgChannel(MUSCLES[0], RATE), FilterSettings()), EnvelopeSettings())
    expected = np.sqrt(np.convolve(_band_passed(raw) ** 2, np.ones(101) / 101, "valid"))
    np.testing.assert_allclose(found[50:-50], expected, rtol=1e-6)


def test_a_real_trial_is_drawn_with_all_its_peaks(open_data: Path) -> None:
    raw = _emg(open_data, "6Nsen")[3]
    lowest, highest = columns(build(raw), 0, len(raw), 300)
    assert (lowest.min(), highest.max()) == (raw.min(), raw.max())
