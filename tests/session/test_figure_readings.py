"""Numbers beside a stretch: mV or percent, shares or points, and never more than is determined."""

from math import hypot, isnan, nan, sqrt

import pytest

from phasemark.model.normalisation import Approach
from phasemark.model.recording import Side
from phasemark.results.further import Further
from phasemark.results.measure import Value
from phasemark.results.referencing import Normaliser, Whose
from phasemark.results.segments import Segment
from phasemark.results.sensitivity import Undetermined
from phasemark.session.figure_readings import ChannelScale, Measure, Reading, Unit, reading_of
from phasemark.signal.amplitude import Amplitude
from phasemark.signal.attempts import Attempt
from phasemark.signal.references import Reference
from phasemark.signal.sampling_error import SamplingError

SEGMENT = Segment("raising", "upper", ((0, 100),))
FURTHER = Further(SamplingError(0.04, 0.05, 80.0, 30.0), rms_shift=0.006, mean_amplitude_shift=0.004)
PERCENT, MV = Unit.PERCENT, Unit.MILLIVOLTS


def normaliser(rms: float = 0.4, mean: float = 0.3, noise: Attempt | None = None) -> Normaliser:
    reference = Reference(rms, mean, 0.03, (0,), mean_error=0.02)
    return Normaliser(Whose("P1", "1", "soleus", Side.NONE), Approach.ISOMETRIC_MVC, reference, noise=noise)


def value(rms: float = 0.1, mean: float = 0.08, further: Further | None = FURTHER) -> Value:
    return Value(1, 0, SEGMENT, Amplitude(rms, mean, 100, 100), further)


def test_in_millivolts_errors_are_shares_of_the_value() -> None:
    found = reading_of(value())
    assert (found.number(Measure.RMS), found.number(Measure.MEAN_AMPLITUDE)) == (0.1, 0.08)
    assert found.error(Measure.RMS) == 0.04
    assert found.error(Measure.MEAN_AMPLITUDE) == 0.05
    assert found.shift(Measure.RMS) == pytest.approx(0.06)
    assert found.shift(Measure.MEAN_AMPLITUDE) == pytest.approx(0.05)
    assert isnan(found.number(Measure.RMS, PERCENT)), "nothing was asked to be set in percent"


def test_in_percent_errors_are_points_and_hold_the_references_own() -> None:
    """25 %; relative errors in quadrature (percent_error); a shift of 0.006 of 0.4 mV is 1.5 points."""
    found = reading_of(value(), scale=ChannelScale(normaliser()))
    assert found.number(Measure.RMS, PERCENT) == pytest.approx(25.0)
    assert found.error(Measure.RMS, PERCENT) == pytest.approx(25 * hypot(0.04, 0.03))
    assert found.shift(Measure.RMS, PERCENT) == pytest.approx(1.5)
    assert found.number(Measure.MEAN_AMPLITUDE, PERCENT) == pytest.approx(100 * 0.08 / 0.3)
    assert found.error(Measure.MEAN_AMPLITUDE, PERCENT) == pytest.approx(100 * 0.08 / 0.3 * hypot(0.05, 0.02))
    assert found.shift(Measure.MEAN_AMPLITUDE, PERCENT) == pytest.approx(100 * 0.004 / 0.3)


def test_over_a_hundred_percent_is_shown_as_it_is() -> None:
    found = reading_of(value(rms=0.6), scale=ChannelScale(normaliser()))
    assert found.number(Measure.RMS, PERCENT) == pytest.approx(150.0)


def test_with_noise_taken_off_the_shift_is_that_of_what_is_left() -> None:
    """sqrt(v^2 - n^2) over sqrt(r^2 - n^2), at the value and a shift to either side of it."""
    noise = Attempt(0.03, 0.02, 0, 0, 0, 0, 0.01, False, 1.0, 0.01)
    scale = ChannelScale(normaliser(noise=noise), noise)
    found = reading_of(value(), scale=scale, subtract=True)

    def percent(rms: float) -> float:
        return 100 * sqrt(rms**2 - 0.03**2) / sqrt(0.4**2 - 0.03**2)

    assert found.number(Measure.RMS, PERCENT) == pytest.approx(percent(0.1))
    assert found.shift(Measure.RMS, PERCENT) == pytest.approx(percent(0.1) - percent(0.094))
    assert found.number(Measure.RMS, MV) == 0.1


def test_while_a_boundary_moves_there_are_percent_and_no_errors() -> None:
    found = reading_of(value(further=None), scale=ChannelScale(normaliser()))
    assert found.number(Measure.RMS, PERCENT) == pytest.approx(25.0)
    for unit in Unit:
        assert isnan(found.error(Measure.RMS, unit))
        assert isnan(found.shift(Measure.RMS, unit))


def test_what_is_not_determined_is_none_in_either_unit_and_says_why() -> None:
    short = Further(SamplingError(nan, nan, nan, nan), why_not=Undetermined.SHORT)
    found = reading_of(value(further=short), scale=ChannelScale(normaliser()))
    assert found.why_no_shift is Undetermined.SHORT
    for unit in Unit:
        assert isnan(found.error(Measure.RMS, unit))
        assert isnan(found.shift(Measure.RMS, unit))


def test_without_a_reference_there_is_no_percent() -> None:
    bare = Normaliser(Whose("P1", "1", "soleus", Side.NONE), Approach.ISOMETRIC_MVC, None)
    for scale in (ChannelScale(), ChannelScale(bare)):
        assert isnan(reading_of(value(), scale=scale).number(Measure.RMS, PERCENT))
        assert isnan(scale.reference(rectified=False))
    assert ChannelScale(normaliser()).reference(rectified=False) == 0.4
    assert ChannelScale(normaliser()).reference(rectified=True) == 0.3


def test_a_value_has_moved_where_it_differs_from_before_a_drag() -> None:
    now, then = Amplitude(0.1, 0.08, 9, 9), Amplitude(0.2, 0.08, 9, 9)
    assert Reading(now, then).moved(Measure.RMS)
    assert not Reading(now, then).moved(Measure.MEAN_AMPLITUDE)
    assert not Reading(now).moved(Measure.RMS)
