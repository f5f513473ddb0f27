"""Zero-phase Butterworth filters against published figures and scipy."""

from fractions import Fraction

import numpy as np
import pytest
from scipy import signal

from phasemark.model.errors import BadData
from phasemark.model.recording import Samples
from phasemark.signal.butterworth import (
    Kind,
    check_cutoff,
    corrected_cutoff,
    design,
    fitting_lowpass,
    high_pass,
    low_pass,
    shortest_piece,
)

# Corrected cut-offs recomputed with scipy 1.17.1 from the correction in Winter (2009), Biomechanics and Motor Control
# of Human Movement, ch. 3, and Robertson & Dowling (2003), J Electromyogr Kinesiol 13:569-573, eq. 1.
CORRECTED = [
    ("lowpass", 1000, 6.0, 4, 7.478537787),
    ("lowpass", 100, 6.0, 4, 7.430884958),
    ("lowpass", 2000, 20.0, 8, 22.327584780),
    ("lowpass", 2000, 500.0, 8, 534.998012376),
    ("highpass", 2000, 20.0, 4, 16.046746589),
    ("highpass", 2000, 20.0, 8, 17.914772059),
    ("highpass", 2000, 30.0, 4, 24.073647487),
    ("highpass", 2000, 30.0, 8, 26.874342732),
]


def _decibels(sections: Samples, rate: float, frequency: float) -> float:
    """Gain of one pass in dB."""
    _, response = signal.sosfreqz(sections, worN=[frequency], fs=rate)
    return float(20 * np.log10(abs(response[0])))


@pytest.mark.parametrize(("kind", "rate", "cutoff", "order", "expected"), CORRECTED)
def test_the_cutoff_of_a_pass_is_corrected_in_the_prewarped_domain(
    kind: Kind, rate: int, cutoff: float, order: int, expected: float
) -> None:
    assert corrected_cutoff(kind, Fraction(rate), cutoff, order) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("kind", ["lowpass", "highpass"])
@pytest.mark.parametrize("order", [2, 4, 6, 8])
@pytest.mark.parametrize(("rate", "cutoff"), [("2000", 20.0), ("2000", 500.0), ("1111.11", 450.0), ("50", 6.0)])
def test_the_double_pass_is_at_minus_three_decibels_where_the_user_said(
    kind: Kind, order: int, rate: str, cutoff: float
) -> None:
    sections = design(kind, Fraction(rate), cutoff, order)
    assert 2 * _decibels(sections, float(Fraction(rate)), cutoff) == pytest.approx(10 * np.log10(0.5), abs=1e-6)


@pytest.mark.parametrize(
    ("ratio", "first", "second", "third", "fourth"),
    [
        (0.25, -0.2633, -0.0169, -0.0011, -0.0001),
        (0.5, -0.9691, -0.2633, -0.0673, -0.0169),
        (0.8, -2.1484, -1.4910, -1.0111, -0.6736),
        (1.0, -3.0103, -3.0103, -3.0103, -3.0103),
        (1.25, -4.0866, -5.3674, -6.8257, -8.4264),
        (2.0, -6.9897, -12.3045, -18.1291, -24.0993),
        (4.0, -12.3045, -24.0993, -36.1247, -48.1649),
    ],
)
def test_a_pass_falls_off_as_a_butterworth_filter(
    ratio: float, first: float, second: float, third: float, fourth: float
) -> None:
    """Closed form |H|^2 = 1 / (1 + (f/fc)^(2N)) about the corrected cut-off, orders 1 to 4 of a pass."""
    rate = Fraction(100_000)  # far above the cut-off, so that digital and analogue filters agree
    for order, expected in zip((2, 4, 6, 8), (first, second, third, fourth), strict=True):
        centre = corrected_cutoff("lowpass", rate, 20.0, order)
        gain = _decibels(design("lowpass", rate, 20.0, order), float(rate), ratio * centre)
        assert gain == pytest.approx(expected, abs=2e-3)


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [
        (5, (-24.0993, -48.1649, -31.1294, -62.2521)),
        (10, (-12.3045, -24.0993, -19.1381, -38.1704)),
        (15, (-6.1914, -10.4095, -12.3045, -24.0993)),
        (20, (-3.0103, -3.0103, -7.8265, -14.2535)),
        (30, (-0.7829, -0.1662, -3.0103, -3.0103)),
        (60, (-0.0533, -0.0007, -0.2633, -0.0169)),
    ],
)
def test_high_pass_attenuation_of_a_single_pass(frequency: float, expected: tuple[float, ...]) -> None:
    """Closed-form table for 20 and 30 Hz, N = 2 and 4; the cut-off asked for is the one whose pass lies there."""
    rate = Fraction(2000)
    for (cutoff, per_pass), decibels in zip(((20, 2), (20, 4), (30, 2), (30, 4)), expected, strict=True):
        factor = (np.sqrt(2) - 1) ** (1 / (2 * per_pass))
        whole = 2000 / np.pi * np.arctan(np.tan(np.pi * cutoff / 2000) / factor)
        gain = _decibels(design("highpass", rate, float(whole), 2 * per_pass), 2000, frequency)
        assert gain == pytest.approx(decibels, abs=0.03)


def test_coefficients_of_the_corrected_six_hertz_low_pass() -> None:
    """Recomputed two ways from Winter's correction: fs 100 Hz, 6 Hz, second order a pass."""
    section = design("lowpass", Fraction(100), 6.0, 4)[0]
    expected = [0.0405946814, 0.0811893629, 0.0405946814, 1.0, -1.3547488152, 0.5171275410]
    np.testing.assert_allclose(section, expected, atol=5e-11)
    assert section[:3].sum() - section[4:].sum() == pytest.approx(1.0)


def test_filtering_is_sosfiltfilt_at_the_corrected_cutoff() -> None:
    x = np.random.default_rng(1).normal(size=3000)
    low = signal.butter(2, 7.478537787, fs=1000, output="sos")
    high = signal.butter(4, 17.914772059, "highpass", fs=2000, output="sos")
    np.testing.assert_allclose(low_pass(x, Fraction(1000), 6.0, 4), signal.sosfiltfilt(low, x), atol=1e-9)
    np.testing.assert_allclose(high_pass(x, Fraction(2000), 20.0, 8), signal.sosfiltfilt(high, x), atol=1e-7)


def test_reversed_in_time_gives_the_reversed_result() -> None:
    x = np.random.default_rng(2).normal(size=6000)
    rate = Fraction(1000)
    for run in (low_pass, high_pass):
        there, back = run(x, rate, 20.0, 4), run(x[::-1], rate, 20.0, 4)[::-1]
        np.testing.assert_allclose(there[1000:-1000], back[1000:-1000], atol=1e-6 * np.ptp(x))


def test_a_symmetric_pulse_keeps_its_centre_while_one_pass_lags() -> None:
    x = np.zeros(2001)
    x[990:1011] = np.hanning(21)
    rate = Fraction(1000)
    assert int(np.argmax(low_pass(x, rate, 10.0, 4))) == 1000
    assert int(np.argmax(signal.sosfilt(design("lowpass", rate, 10.0, 4), x))) > 1005


def test_a_constant_passes_the_low_pass_unchanged_and_the_high_pass_as_zero() -> None:
    x = np.full(500, 3.25)
    np.testing.assert_allclose(low_pass(x, Fraction(1000), 6.0, 4), x, rtol=1e-10)
    np.testing.assert_allclose(high_pass(x, Fraction(1000), 20.0, 4), 0.0, atol=1e-10)


def test_a_step_overshoots_by_its_known_share() -> None:
    """Unit step, second order twice, 10 Hz at 100 Hz: 3.816 % at either side (recomputed)."""
    filtered = low_pass(np.repeat([0.0, 1.0], 20), Fraction(100), 10.0, 4)
    assert filtered.max() - 1 == pytest.approx(0.03816, abs=5e-6)
    assert -filtered.min() == pytest.approx(0.03816, abs=5e-6)


def test_each_piece_between_gaps_is_filtered_by_itself() -> None:
    x = np.random.default_rng(3).normal(size=1000)
    gappy = x.copy()
    gappy[300:320] = np.nan
    filtered = high_pass(gappy, Fraction(1000), 20.0, 4)
    np.testing.assert_array_equal(filtered[:300], high_pass(x[:300], Fraction(1000), 20.0, 4))
    np.testing.assert_array_equal(filtered[320:], high_pass(x[320:], Fraction(1000), 20.0, 4))
    assert np.isnan(filtered[300:320]).all()


@pytest.mark.parametrize("order", [2, 4, 6, 8])
def test_a_piece_too_short_to_start_a_filter_on_is_missing_and_one_sample_more_is_filtered(order: int) -> None:
    """The shortest piece is also the shortest that scipy's own padding takes."""
    shortest = shortest_piece(order)
    x = np.random.default_rng(4).normal(size=shortest)
    assert np.isfinite(low_pass(x, Fraction(1000), 100.0, order)).all()
    assert np.isnan(low_pass(x[1:], Fraction(1000), 100.0, order)).all()
    between = np.concatenate(([np.nan], x, [np.nan], x[1:], [np.nan]))
    present = np.isfinite(low_pass(between, Fraction(1000), 100.0, order))
    np.testing.assert_array_equal(np.flatnonzero(present), np.arange(1, shortest + 1))
    sections = design("lowpass", Fraction(1000), 100.0, order)
    assert np.isfinite(signal.sosfiltfilt(sections, x)).all()
    with pytest.raises(ValueError, match="padlen"):
        signal.sosfiltfilt(sections, x[1:])


def test_nothing_goes_in_and_nothing_comes_out() -> None:
    assert low_pass(np.array([]), Fraction(1000), 6.0, 4).shape == (0,)
    assert np.isnan(low_pass(np.full(50, np.nan), Fraction(1000), 6.0, 4)).all()


def test_a_longer_extension_is_cut_to_what_a_piece_holds() -> None:
    x = np.random.default_rng(5).normal(size=40)
    expected = signal.sosfiltfilt(design("lowpass", Fraction(1000), 6.0, 4), x, padtype="even", padlen=39)
    np.testing.assert_array_equal(low_pass(x, Fraction(1000), 6.0, 4, extension="even", extend_by=500), expected)


def test_a_design_can_be_written_into_without_harm() -> None:
    first = design("lowpass", Fraction(1000), 6.0, 4)
    before = first.copy()
    first[:] = 0
    np.testing.assert_array_equal(design("lowpass", Fraction(1000), 6.0, 4), before)


@pytest.mark.parametrize("cutoff", [500.0, 500.1, 4000.0])
def test_a_lowpass_that_does_not_fit_is_refused_with_what_would(cutoff: float) -> None:
    with pytest.raises(BadData, match=r"low-pass at .* Hz does not fit .* 1000 Hz: .* below 500 Hz; 450 Hz would fit"):
        low_pass(np.zeros(100), Fraction(1000), cutoff, 4)


@pytest.mark.parametrize("rate", ["50", "999.75", "1111.11", "2000", "4096"])
def test_what_is_said_to_fit_does_fit(rate: str) -> None:
    fitting = fitting_lowpass(Fraction(rate))
    assert 0.44 * float(Fraction(rate)) < fitting < float(Fraction(rate)) / 2
    check_cutoff("lowpass", Fraction(rate), fitting)


def test_an_odd_order_cannot_be_two_equal_passes() -> None:
    with pytest.raises(ValueError, match="even"):
        design("lowpass", Fraction(1000), 6.0, 3)
