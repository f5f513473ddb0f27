"""RMS and mean amplitude of known waveforms, of gaps, and of already rectified input."""

from fractions import Fraction
from math import isnan, pi, sqrt, tan

import numpy as np
import pytest

from phasemark.model.recording import EmgChannel, Samples, Treatment
from phasemark.model.settings import FilterSettings
from phasemark.signal.amplitude import Amplitude, amplitude, amplitude_of_pieces, enough
from phasemark.signal.conditioning import condition

OFF = FilterSettings(highpass_hz=None, lowpass_hz=None, remove_offset=False)
RATE = Fraction(1000)


def _measured(
    values: Samples,
    begin: int = 0,
    end: int | None = None,
    filters: FilterSettings = OFF,
    treatment: Treatment = Treatment.RAW,
) -> Amplitude:
    values = np.asarray(values, dtype=float)
    channel = EmgChannel("soleus", RATE, treatment=treatment)
    return amplitude(condition(values, channel, filters), begin, len(values) if end is None else end)


@pytest.mark.parametrize("per_cycle", [20, 50, 2000])
def test_a_sine_has_the_rms_and_the_discrete_mean_amplitude_of_a_sine(per_cycle: int) -> None:
    """Closed form: A / sqrt 2, and (2/M) cot(pi/M) A with samples on the zero crossings (2 A / pi in the limit)."""
    sine = 3.0 * np.sin(2 * pi * np.arange(10 * per_cycle) / per_cycle)
    found = _measured(sine)
    assert found.rms == pytest.approx(3.0 / sqrt(2), rel=1e-12)
    assert found.mean_amplitude == pytest.approx(3.0 * 2 / per_cycle / tan(pi / per_cycle), rel=1e-12)
    if per_cycle >= 50:
        assert found.mean_amplitude == pytest.approx(3.0 * 2 / pi, rel=2e-3)
        assert found.rms / found.mean_amplitude == pytest.approx(1.1107207345395915, rel=2e-3)


def test_an_offset_raises_the_rms_unless_it_is_removed() -> None:
    sine = np.sin(2 * pi * np.arange(1000) / 50) + 2.0
    removing = FilterSettings(highpass_hz=None, lowpass_hz=None)
    assert _measured(sine).rms == pytest.approx(sqrt(0.5 + 4.0), rel=1e-12)
    assert _measured(sine, filters=removing).rms == pytest.approx(sqrt(0.5), rel=1e-12)


def test_square_triangle_and_constant() -> None:
    """Closed form: square A and A; triangle A / sqrt 3 and A / 2; a constant its size twice."""
    square = np.repeat([2.0, -2.0], 300)
    assert (_measured(square).rms, _measured(square).mean_amplitude) == (2.0, 2.0)
    ramp = (np.arange(10_000) + 0.5) / 10_000 * 4 - 2
    triangle = np.concatenate((ramp, ramp[::-1]))
    assert _measured(triangle).rms == pytest.approx(2 / sqrt(3), rel=1e-7)
    assert _measured(triangle).mean_amplitude == pytest.approx(1.0, rel=1e-7)
    assert _measured(np.full(999, -0.25)).rms == pytest.approx(0.25, rel=1e-15)


def test_gaussian_and_laplacian_noise_have_their_form_factors() -> None:
    """Closed form sqrt(pi / 2) and sqrt 2 (Clancy & Hogan 1997, Proc 19th IEEE EMBS, 1267-1270)."""
    rng = np.random.default_rng(8)
    gaussian = _measured(rng.normal(0, 0.3, 2_000_000))
    assert gaussian.rms == pytest.approx(0.3, rel=2e-3)
    assert gaussian.rms / gaussian.mean_amplitude == pytest.approx(1.2533141373, rel=2e-3)
    laplacian = _measured(rng.laplace(0, 0.3 / sqrt(2), 2_000_000))
    assert laplacian.rms / laplacian.mean_amplitude == pytest.approx(1.41421, rel=3e-3)


def test_a_segment_holds_its_begin_and_not_its_end() -> None:
    values = np.zeros(1000)
    values[300] = 10.0
    assert _measured(values, 300, 400).mean_amplitude == pytest.approx(0.1)
    assert _measured(values, 200, 300).mean_amplitude == 0.0


@pytest.mark.parametrize(("missing", "has_value"), [(0, True), (100, True), (101, False), (1000, False)])
def test_a_segment_with_under_ninety_percent_valid_samples_is_missing(missing: int, has_value: bool) -> None:
    values = np.ones(1000)
    values[:missing] = np.nan
    found = _measured(values)
    assert (not isnan(found.rms), not isnan(found.mean_amplitude)) == (has_value, has_value)
    assert (found.valid, found.samples) == (1000 - missing, 1000)
    if has_value:
        assert found.rms == 1.0, "the mean is over the valid samples"


def test_samples_outside_the_channel_count_as_missing() -> None:
    values = np.ones(1000)
    assert isnan(_measured(values, 500, 1100).rms)
    assert _measured(values, 0, 1100).rms == 1.0
    assert isnan(_measured(values, -200, 800).rms)


def test_an_empty_segment_is_missing_and_not_zero() -> None:
    assert isnan(_measured(np.ones(100), 50, 50).rms)
    assert not enough(0, 0)


def test_pieces_are_measured_as_one_segment() -> None:
    """Its samples count equally, whichever piece they are in, and so do the missing ones."""
    values = np.concatenate((np.full(300, 1.0), np.full(500, 9.0), np.full(100, 3.0)))
    conditioned = condition(values, EmgChannel("soleus", RATE), OFF)
    found = amplitude_of_pieces(conditioned, ((0, 300), (800, 900)))
    assert found == Amplitude(pytest.approx(sqrt(1200 / 400)), pytest.approx(600 / 400), 400, 400)
    assert isnan(amplitude_of_pieces(conditioned, ((0, 300), (900, 1000))).rms)
    assert amplitude_of_pieces(conditioned, ((0, 300), (880, 920))).valid == 320
    assert isnan(amplitude_of_pieces(conditioned, ()).mean_amplitude)


def test_already_rectified_input_has_a_mean_amplitude_and_no_rms() -> None:
    found = _measured(np.full(500, 0.2), filters=FilterSettings(), treatment=Treatment.RECTIFIED)
    assert isnan(found.rms)
    assert found.mean_amplitude == pytest.approx(0.2)


def test_amplitude_scales_with_the_signal() -> None:
    x = np.random.default_rng(9).normal(size=5000)
    once, thrice = (_measured(k * x, 100, 3000, FilterSettings(lowpass_hz=400.0)) for k in (1.0, 3.0))
    assert thrice.rms == pytest.approx(3 * once.rms, rel=1e-12)
    assert thrice.mean_amplitude == pytest.approx(3 * once.mean_amplitude, rel=1e-12)
