"""Settings of a study: the rules every number was made by, each with the default of the design.

Orders and cut-offs are stated for the whole zero-phase filter: order 4 is second order run forward and
backward, and the cut-off is where the double pass is at -3 dB.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from math import isfinite

from phasemark.model.errors import BadCall
from phasemark.model.normalisation import NormalisationSettings
from phasemark.model.quality_settings import QualitySettings


def _above_zero(name: str, value: float | None) -> None:
    if value is not None and not (isfinite(value) and value > 0):
        raise BadCall(f"{name} must be above zero, not {value}.")


def _whole_order(order: int) -> None:
    if order not in (2, 4, 6, 8):
        raise BadCall(f"The order of a zero-phase filter must be 2, 4, 6 or 8 (both passes together), not {order}.")


@dataclass(frozen=True, slots=True)
class FilterSettings:
    """Filters of EMG: high-pass and low-pass in Hz (None is off), their order, removal of the offset.

    notch_hz is the power-line frequency that a notch takes out (None is off: it takes EMG out too), with its
    multiples up to notch_harmonics times it; notch_q is the quality factor of each, its frequency over its -3 dB
    width. ecg_template takes the mean heartbeat out, locked to the beats that are detected.
    """

    highpass_hz: float | None = 20.0
    lowpass_hz: float | None = 450.0
    order: int = 4
    remove_offset: bool = True
    notch_hz: float | None = None
    notch_harmonics: int = 1
    notch_q: float = 30.0
    ecg_template: bool = False

    def __post_init__(self) -> None:
        _above_zero("The high-pass cut-off (Hz)", self.highpass_hz)
        _above_zero("The low-pass cut-off (Hz)", self.lowpass_hz)
        _above_zero("The notch (Hz)", self.notch_hz)
        _above_zero("The quality factor of the notch", self.notch_q)
        _whole_order(self.order)
        if not 1 <= self.notch_harmonics <= 20:
            raise BadCall(f"filter.notch_harmonics is a number from 1 to 20, not {self.notch_harmonics}.")
        if self.highpass_hz is not None and self.lowpass_hz is not None and self.highpass_hz >= self.lowpass_hz:
            raise BadCall(
                f"The high-pass cut-off ({self.highpass_hz:g} Hz) must be below the low-pass ({self.lowpass_hz:g} Hz)."
            )


@dataclass(frozen=True, slots=True)
class MuscleFilter:
    """Filters that differ for one muscle, both sides, in every trial."""

    muscle: str
    filter: FilterSettings


class EnvelopeKind(StrEnum):
    """How an envelope is made from the band-passed signal."""

    MOVING_RMS = "moving RMS"
    LOW_PASS = "low-pass"


@dataclass(frozen=True, slots=True)
class EnvelopeSettings:
    """Envelope: moving RMS over a centred window (s), or a zero-phase low-pass (Hz) of the rectified signal."""

    kind: EnvelopeKind = EnvelopeKind.MOVING_RMS
    window_s: float = 0.1
    lowpass_hz: float = 6.0
    order: int = 4

    def __post_init__(self) -> None:
        _above_zero("The envelope window (s)", self.window_s)
        _above_zero("The envelope low-pass (Hz)", self.lowpass_hz)
        _whole_order(self.order)


class ThirdsRule(StrEnum):
    """What the thirds are thirds of."""

    REP = "rep"
    TRIAL = "trial"
    FIXED = "fixed"
    TIME = "time"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class PhaseSettings:
    """Rules that find phases in a movement trace.

    movement_lowpass_hz and movement_order filter the trace (None is off); prominence is the share of the range of
    the set's movements that a turning point must stand out by (rests and movements of another size before or
    after the set would distort a range over the whole trial); a pause shorter than
    pause_s is none; around pauses a phase runs while speed exceeds speed_share of its peak; a rep is complete
    when it begins and ends within complete_within of its range of each other. thirds names the rule and
    fixed_levels its two heights in the trace's unit; return_share is how far (share of the range) the trace
    may go back over a level before it raises the doubt.
    """

    movement_lowpass_hz: float | None = 6.0
    movement_order: int = 4
    prominence: float = 0.30
    pause_s: float = 0.200
    speed_share: float = 0.05
    complete_within: float = 0.30
    thirds: ThirdsRule = ThirdsRule.REP
    fixed_levels: tuple[float, float] | None = None
    return_share: float = 0.02

    def __post_init__(self) -> None:
        _above_zero("The movement low-pass (Hz)", self.movement_lowpass_hz)
        _whole_order(self.movement_order)
        for name, share in (
            ("prominence", self.prominence),
            ("speed_share", self.speed_share),
            ("complete_within", self.complete_within),
            ("return_share", self.return_share),
        ):
            if not 0 < share < 1:
                raise BadCall(f"phases.{name} is a share between 0 and 1, not {share}.")
        if not (isfinite(self.pause_s) and self.pause_s >= 0):
            raise BadCall(f"phases.pause_s must be 0 or more seconds, not {self.pause_s}.")
        if (self.thirds is ThirdsRule.FIXED) != (self.fixed_levels is not None):
            raise BadCall("Fixed thirds need two levels in the movement trace's unit, and only they have them.")
        if self.fixed_levels is not None and not self.fixed_levels[0] < self.fixed_levels[1]:
            raise BadCall("The two fixed levels of the thirds must rise.")


class CountRule(StrEnum):
    """Which of the complete, not excluded reps of a trial are in its means."""

    ALL = "all"
    LISTED = "listed"
    INNER = "all but first and last"


@dataclass(frozen=True, slots=True)
class CountedReps:
    """The reps that count: all complete ones, those with the listed numbers, or all but first and last."""

    rule: CountRule = CountRule.ALL
    numbers: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if (self.rule is CountRule.LISTED) != bool(self.numbers) or any(n < 1 for n in self.numbers):
            raise BadCall("A list of counted reps holds rep numbers from 1 on, and only the rule 'listed' has one.")

    def includes(self, number: int, complete: int) -> bool:
        """Whether the rep with a number counts, of so many complete reps in the trial."""
        if self.rule is CountRule.INNER:
            return 1 < number < complete
        return self.rule is CountRule.ALL or number in self.numbers


@dataclass(frozen=True, slots=True)
class BaselineSettings:
    """Whether the power of the baseline noise is subtracted from amplitudes, and from their reference alike."""

    subtract: bool = False


@dataclass(frozen=True, slots=True)
class UncertaintySettings:
    """shift_s: how far (s) each boundary is moved to see how much a value hangs on it."""

    shift_s: float = 0.05

    def __post_init__(self) -> None:
        _above_zero("uncertainty.shift_s", self.shift_s)


@dataclass(frozen=True, slots=True)
class HoldSettings:
    """How long (s) the stretch is that is measured in the middle of an isometric hold."""

    window_s: float = 3.0

    def __post_init__(self) -> None:
        _above_zero("hold.window_s", self.window_s)


@dataclass(frozen=True, slots=True)
class MuscleRatio:
    """Two muscles whose amplitudes are set in ratio, both of one side."""

    muscle: str
    over: str

    def __post_init__(self) -> None:
        if not self.muscle.strip() or not self.over.strip() or self.muscle == self.over:
            raise BadCall("A ratio needs two different muscles.")


@dataclass(frozen=True, slots=True)
class Settings:
    """All settings of a study. pause_in_rep says whether a whole rep is measured with its pause."""

    filter: FilterSettings = field(default_factory=FilterSettings)
    muscle_filters: tuple[MuscleFilter, ...] = ()
    envelope: EnvelopeSettings = field(default_factory=EnvelopeSettings)
    phases: PhaseSettings = field(default_factory=PhaseSettings)
    counted: CountedReps = field(default_factory=CountedReps)
    pause_in_rep: bool = True
    normalisation: NormalisationSettings = field(default_factory=NormalisationSettings)
    baseline: BaselineSettings = field(default_factory=BaselineSettings)
    uncertainty: UncertaintySettings = field(default_factory=UncertaintySettings)
    quality: QualitySettings = field(default_factory=QualitySettings)
    hold: HoldSettings = field(default_factory=HoldSettings)
    ratios: tuple[MuscleRatio, ...] = ()

    def filter_for(self, muscle: str) -> FilterSettings:
        """The filters of a muscle: its own where it has some, else the study's."""
        for own in self.muscle_filters:
            if own.muscle == muscle:
                return own.filter
        return self.filter
