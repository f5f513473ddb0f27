"""What stands beside one stretch of one muscle in the figure of a rep: its amplitude and how far that can be trusted.

A value is in mV or in percent of the muscle's reference. In mV its sampling error and its sensitivity are shares of
it, in percent they are points of percent, as the value is: a share beside a percentage would be mistaken for points.
"""

from dataclasses import dataclass, replace
from enum import StrEnum
from math import isfinite, nan

from phasemark.results.further import Further
from phasemark.results.measure import Value
from phasemark.results.referencing import Normaliser
from phasemark.results.sensitivity import Undetermined
from phasemark.results.value_cells import Normalised, normalised
from phasemark.signal.amplitude import Amplitude
from phasemark.signal.attempts import Attempt


class Measure(StrEnum):
    """Which amplitude is read."""

    RMS = "RMS"
    MEAN_AMPLITUDE = "mean amplitude"


class Unit(StrEnum):
    """What an amplitude is stated in."""

    MILLIVOLTS = "mV"
    PERCENT = "% of reference"


@dataclass(frozen=True, slots=True)
class ChannelScale:
    """What a channel's amplitudes are set in percent of, and its baseline noise; None where there is none."""

    normaliser: Normaliser | None = None
    noise: Attempt | None = None

    def reference(self, *, rectified: bool) -> float:
        """What an envelope (mV) is 100 percent of: the reference RMS, of rectified input the mean amplitude; or nan."""
        if self.normaliser is None:
            return nan
        return self.normaliser.mean_amplitude if rectified else self.normaliser.rms

    def percent(self, value: Value, *, subtract: bool) -> Normalised:
        """A value in percent; subtract takes the noise off it."""
        return normalised(value, self.normaliser, self.noise, subtract=subtract)


@dataclass(frozen=True, slots=True)
class Percent:
    """A value in percent of its reference, its errors, and how far moved boundaries shift it, in points."""

    value: Normalised
    rms_shift: float = nan
    mean_amplitude_shift: float = nan


@dataclass(frozen=True, slots=True)
class Reading:
    """Amplitude of one segment in one muscle, and that before the drag where there is one.

    further is what is known of it once no boundary is on its way; percent is None where it was not asked for; notes are
    sentences that a reader must know.
    """

    amplitude: Amplitude
    before: Amplitude | None = None
    further: Further | None = None
    percent: Percent | None = None
    notes: tuple[str, ...] = ()

    def number(self, measure: Measure, unit: Unit = Unit.MILLIVOLTS) -> float:
        """The amplitude by a measure, in mV or percent; nan where missing."""
        if unit is Unit.MILLIVOLTS:
            return _number(self.amplitude, measure)
        if self.percent is None:
            return nan
        found = self.percent.value
        return found.rms if measure is Measure.RMS else found.mean_amplitude

    def error(self, measure: Measure, unit: Unit = Unit.MILLIVOLTS) -> float:
        """Its sampling error: a share of it in mV, points in percent; nan where not determined."""
        if self.further is None:
            return nan
        if unit is Unit.PERCENT:
            if self.percent is None:
                return nan
            found = self.percent.value
            return found.rms_error if measure is Measure.RMS else found.mean_amplitude_error
        return self.further.error.rms if measure is Measure.RMS else self.further.error.mean_amplitude

    def shift(self, measure: Measure, unit: Unit = Unit.MILLIVOLTS) -> float:
        """How far a moved boundary shifts it: a share of it in mV, points in percent; nan where not determined."""
        if self.further is None:
            return nan
        if unit is Unit.PERCENT:
            if self.percent is None:
                return nan
            return self.percent.rms_shift if measure is Measure.RMS else self.percent.mean_amplitude_shift
        by = self.further.rms_shift if measure is Measure.RMS else self.further.mean_amplitude_shift
        number = self.number(measure)
        return by / number if number > 0 else nan

    @property
    def why_no_shift(self) -> Undetermined:
        """Why its sensitivity is not determined."""
        return Undetermined.NOT if self.further is None else self.further.why_not

    def moved(self, measure: Measure) -> bool:
        """Whether the number is another than before the drag."""
        if self.before is None:
            return False
        now, then = _number(self.amplitude, measure), _number(self.before, measure)
        return now != then and (isfinite(now) or isfinite(then))


def _number(amplitude: Amplitude, measure: Measure) -> float:
    return amplitude.rms if measure is Measure.RMS else amplitude.mean_amplitude


def reading_of(
    value: Value,
    before: Amplitude | None = None,
    *,
    scale: ChannelScale | None = None,
    subtract: bool = False,
    notes: tuple[str, ...] = (),
) -> Reading:
    """The reading of a value; in percent as well where there is a scale."""
    percent = None if scale is None or scale.normaliser is None else _percent(value, scale, subtract)
    return Reading(value.amplitude, before, value.further, percent, notes)


def _percent(value: Value, scale: ChannelScale, subtract: bool) -> Percent:
    found, further = scale.percent(value, subtract=subtract), value.further
    if further is None:
        return Percent(found)
    # Noise taken off makes percent no multiple of mV: the value is put as far up and down as boundaries move it.
    own = value.amplitude
    ends = []
    for way in (-1, 1):
        rms, mean = own.rms + way * further.rms_shift, own.mean_amplitude + way * further.mean_amplitude_shift
        moved = replace(value, amplitude=replace(own, rms=rms, mean_amplitude=mean))
        ends.append(scale.percent(moved, subtract=subtract))
    return Percent(
        found,
        _largest([abs(end.rms - found.rms) for end in ends]),
        _largest([abs(end.mean_amplitude - found.mean_amplitude) for end in ends]),
    )


def _largest(changes: list[float]) -> float:
    return max(changes) if all(map(isfinite, changes)) else nan
