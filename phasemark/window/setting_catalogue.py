"""Words, units, choices and hints of every setting, declared once: a new setting needs one line here."""

from collections.abc import Iterable
from enum import StrEnum

from phasemark.model.exercise_text import AUTOMATIC
from phasemark.model.marks import LOWERING, RAISING
from phasemark.model.normalisation import Approach, ReferenceRule
from phasemark.model.setting_values import OFF
from phasemark.model.settings import EnvelopeKind, ThirdsRule
from phasemark.model.study import Study
from phasemark.window.setting_fields import NAME, NAMED, Choice, Condition, SettingField, SettingGroup

_Field, _Group = SettingField, SettingGroup


def _choices(values: Iterable[str]) -> tuple[Choice, ...]:
    return tuple(Choice(str(value)) for value in values)


def _if_kind(kind: StrEnum) -> Condition:
    return Condition("envelope.kind", (str(kind),))


def _if_approach(*approaches: Approach) -> Condition:
    return Condition("normalisation.approach", tuple(map(str, approaches)))


_YES_NO = _choices(("yes", "no"))
_ORDERS = _choices(("2", "4", "6", "8"))
_OFF = f"'{OFF}' for none"
_TWICE = f"{_OFF}; -3 dB here over both passes"
_OF_TASK = (Approach.TASK_PEAK, Approach.TASK_MEAN)
_REFERENCED = tuple(approach for approach in Approach if approach is not Approach.NONE)

THIRDS = (
    Choice(ThirdsRule.REP, "each rep's range"),
    Choice(ThirdsRule.TRIAL, "the trial's range"),
    Choice(ThirdsRule.FIXED, "fixed levels"),
    Choice(ThirdsRule.TIME, "the phase's time"),
    Choice(ThirdsRule.NONE, "none"),
)


def _filter(at: str) -> tuple[SettingField, ...]:
    """Filters of all muscles, or of one."""
    notched = Condition(f"{at}.notch_hz", (OFF,), holds=False)
    return (
        _Field(f"{at}.highpass_hz", "High-pass", "Hz", hint=_TWICE),
        _Field(f"{at}.lowpass_hz", "Low-pass", "Hz", hint=_TWICE),
        _Field(f"{at}.order", "Order, both passes together", choices=_ORDERS),
        _Field(f"{at}.remove_offset", "Remove offset", choices=_YES_NO),
        _Field(f"{at}.notch_hz", "Notch", "Hz", hint=f"{_OFF}; takes EMG out along with power-line interference"),
        _Field(f"{at}.notch_harmonics", "Notches up to harmonic", only_if=notched, hint="1: the line frequency only"),
        _Field(f"{at}.notch_q", "Quality factor of a notch", only_if=notched, hint="its frequency over its width"),
        _Field(f"{at}.ecg_template", "Take the mean heartbeat out", choices=_YES_NO),
    )


_ENVELOPE = (
    _Field("envelope.kind", "Envelope", choices=_choices(EnvelopeKind)),
    _Field("envelope.window_s", "Window of the moving RMS", "s", only_if=_if_kind(EnvelopeKind.MOVING_RMS)),
    _Field("envelope.lowpass_hz", "Low-pass of the rectified signal", "Hz", only_if=_if_kind(EnvelopeKind.LOW_PASS)),
    _Field(
        "envelope.order", "Its order, both passes together", choices=_ORDERS, only_if=_if_kind(EnvelopeKind.LOW_PASS)
    ),
)
_PHASES = (
    _Field("phases.movement_lowpass_hz", "Low-pass of the movement trace", "Hz", hint=_OFF),
    _Field("phases.movement_order", "Its order, both passes together", choices=_ORDERS),
    _Field("phases.prominence", "Prominence of a turning point", "share of range"),
    _Field("phases.pause_s", "A pause is at least", "s"),
    _Field("phases.speed_share", "Around pauses a phase runs above", "share of its peak speed"),
    _Field("phases.complete_within", "A repetition is complete within", "share of range"),
)
_THIRDS = (
    _Field("phases.thirds", "Thirds are of", choices=THIRDS, opens=(ThirdsRule.FIXED, "phases.fixed_levels")),
    _Field(
        "phases.fixed_levels",
        "The two levels",
        parts=("lower number", "higher number"),
        only_if=Condition("phases.thirds", (ThirdsRule.FIXED,)),
        hint="values of the movement trace",
    ),
    _Field("phases.return_share", "Going back over a level is doubtful from", "share of range"),
)
_COUNTING = (
    _Field("counted", "Counted repetitions", hint="all, all but first and last, or numbers such as 2, 3, 4"),
    _Field("pause_in_rep", "A whole repetition holds its pause", choices=_YES_NO),
    _Field("hold.window_s", "Measured in the middle of an isometric hold", "s"),
    _Field(
        "ratios", "Ratios of muscles", hint="such as biceps femoris / vastus medialis; none, or several with commas"
    ),
)
_NORMALISATION = (
    _Field("normalisation.approach", "Reference", choices=_choices(Approach)),
    _Field("normalisation.rule", "Its value", choices=_choices(ReferenceRule), only_if=_if_approach(*_REFERENCED)),
    _Field("normalisation.window_s", "Moving window", "s", only_if=_if_approach(*_REFERENCED)),
    _Field(
        "normalisation.best",
        "Attempts averaged",
        only_if=Condition("normalisation.rule", (ReferenceRule.BEST_MEAN,)),
    ),
    _Field(
        "normalisation.plateau_s",
        "Length of a plateau",
        "s",
        only_if=Condition("normalisation.rule", (ReferenceRule.PLATEAU,)),
    ),
    _Field(
        "normalisation.disagreement",
        "The best two attempts disagree from",
        "share",
        only_if=_if_approach(*(approach for approach in _REFERENCED if approach not in _OF_TASK)),
    ),
    _Field(
        "normalisation.per_exercise",
        "A reference for each exercise",
        choices=_YES_NO,
        only_if=_if_approach(*_OF_TASK),
        hint="hides what differs between exercises",
    ),
    _Field(
        "normalisation.exercise",
        "From one exercise only",
        only_if=_if_approach(*_OF_TASK),
        hint="its name; empty for all",
    ),
)
_CERTAINTY = (
    _Field("baseline.subtract", "Subtract the power of the baseline noise", choices=_YES_NO),
    _Field("uncertainty.shift_s", "Boundaries moved to see what hangs on them", "s"),
)
_QUALITY = (
    _Field("quality.lost_ms", "Lost where at one value for more than", "ms"),
    _Field("quality.clipping_run_samples", "Clipped from so many samples in a row"),
    _Field("quality.clipping_share", "Clipped samples, more than", "share"),
    _Field("quality.offset_ratio", "Offset over RMS, more than", "times"),
    _Field("quality.drift_ratio", "Drift over RMS, more than", "times"),
    _Field("quality.line_hz", "Power-line frequency", "Hz", hint="looked for beside 50 and 60 Hz"),
    _Field("quality.line_share", "Power-line interference, more than", "share of power"),
    _Field("quality.low_frequency_hz", "Low frequencies are under", "Hz"),
    _Field("quality.low_frequency_share", "Power at low frequencies, more than", "share of power"),
    _Field("quality.artefact_share", "Movement artefact: its low frequencies over", "share of power"),
    _Field("quality.artefact_ratio", "Movement artefact: over the usual there", "times"),
    _Field("quality.heart_share", "ECG contamination, more than", "share of power"),
    _Field("quality.signal_to_noise_db", "Signal over baseline, less than", "dB"),
    _Field("quality.quiet_uv", "Quiet enough for a baseline", "µV"),
    _Field("quality.rate_hz", "Sampling rate of EMG, less than", "Hz"),
    _Field("quality.bandwidth_share", "Power in the highest tenth, more than", "share of power"),
    _Field("quality.distinct_values", "Different values, fewer than"),
    _Field("quality.rectified_ratio", "Rectified: reach below over above, under", "times"),
    _Field("quality.smoothed_hz", "Smoothed: all power below", "Hz"),
    _Field("quality.alike_share", "Two channels alike in more than", "share of power"),
    _Field("quality.alike_lag_ms", "Alike within a lag of", "ms"),
    _Field("quality.movement_jump_share", "Movement: a jump of more than", "share of range"),
    _Field("quality.movement_gap_ms", "Movement: a gap of more than", "ms"),
    _Field("quality.movement_rate_hz", "Movement: new values, fewer than", "Hz"),
)
_EXERCISE = (
    _Field(f"first_phase{NAMED}", "Begins with", choices=_choices((AUTOMATIC, LOWERING, RAISING))),
    _Field(f"against_load{NAMED}", "Against the load", choices=_choices((RAISING, LOWERING))),
    _Field(f"isometric{NAMED}", "An isometric hold", choices=_YES_NO),
    _Field(f"lowering_s{NAMED}", "Planned time of lowering", "s", hint=_OFF),
    _Field(f"raising_s{NAMED}", "Planned time of raising", "s", hint=_OFF),
)

CATALOGUE = (
    _Group("Filter of all muscles", _filter("filter")),
    _Group("Envelope", _ENVELOPE),
    _Group("Repetitions and phases", _PHASES),
    _Group("Thirds", _THIRDS),
    _Group("What is measured", _COUNTING),
    _Group("Normalisation", _NORMALISATION),
    _Group("MVIC positions", (_Field(f"mvic{NAMED}", NAME, hint="all, or muscles with commas between them"),)),
    _Group("Baseline and sampling error", _CERTAINTY),
    _Group("Signal quality", _QUALITY),
    _Group(f"Exercise {NAME}", _EXERCISE, one_each=True),
    _Group(f"Filter of {NAME}", _filter(f"filter{NAMED}"), one_each=True),
)


def trace_units(study: Study) -> dict[str, str]:
    """Units of settings that are values of the movement trace, where all trials of the study have the same."""
    units = {trial.movement[0].unit for trial in study.trials if trial.movement and trial.kind.holds_reps}
    return {"phases.fixed_levels": units.pop()} if len(units) == 1 else {}
