"""The settings of a study as fields of a form, declared once: key, words, unit and choices. No Qt."""

from dataclasses import dataclass

from phasemark.model.marks import LOWERING, RAISING
from phasemark.model.settings import EnvelopeKind, ThirdsRule
from phasemark.model.exercise_text import AUTOMATIC
from phasemark.model.study import Study


@dataclass(frozen=True, slots=True)
class SettingField:
    """One field: the key of the setting, its words, its unit; choices where it has only some values."""

    key: str
    label: str
    unit: str = ""
    choices: tuple[str, ...] = ()
    hint: str = ""


@dataclass(frozen=True, slots=True)
class SettingGroup:
    """Fields that belong together."""

    title: str
    fields: tuple[SettingField, ...]


_YES_NO = ("yes", "no")


def filter_fields(muscle: str = "") -> tuple[SettingField, ...]:
    """Filters of all muscles, or of one."""
    at = f"filter[{muscle}]" if muscle else "filter"
    return (
        SettingField(f"{at}.highpass_hz", "High-pass", "Hz", hint="'off' for none; -3 dB here over both passes"),
        SettingField(f"{at}.lowpass_hz", "Low-pass", "Hz", hint="'off' for none; -3 dB here over both passes"),
        SettingField(f"{at}.order", "Order, both passes together", choices=("2", "4", "6", "8")),
        SettingField(f"{at}.remove_offset", "Remove offset", choices=_YES_NO),
    )


_ENVELOPE = (
    SettingField("envelope.kind", "Envelope", choices=tuple(str(kind) for kind in EnvelopeKind)),
    SettingField("envelope.window_s", "Window of the moving RMS", "s"),
    SettingField("envelope.lowpass_hz", "Low-pass of the rectified signal", "Hz"),
    SettingField("envelope.order", "Its order, both passes together", choices=("2", "4", "6", "8")),
)
_PHASES = (
    SettingField("phases.movement_lowpass_hz", "Low-pass of the movement trace", "Hz", hint="'off' for none"),
    SettingField("phases.movement_order", "Its order, both passes together", choices=("2", "4", "6", "8")),
    SettingField("phases.prominence", "Prominence of a turning point", "share of range"),
    SettingField("phases.pause_s", "A pause is at least", "s"),
    SettingField("phases.speed_share", "Around pauses a phase runs above", "share of its peak speed"),
    SettingField("phases.complete_within", "A repetition is complete within", "share of range"),
    SettingField(
        "phases.thirds",
        "Thirds",
        hint=", ".join(rule for rule in ThirdsRule if rule is not ThirdsRule.FIXED) + ", or two levels such as 20, 50",
    ),
    SettingField("phases.return_share", "Going back over a level is doubtful from", "share of range"),
)
_COUNTING = (
    SettingField("counted", "Counted repetitions", hint="all, all but first and last, or numbers such as 2, 3, 4"),
    SettingField("pause_in_rep", "A whole repetition holds its pause", choices=_YES_NO),
)


def setting_groups(study: Study) -> tuple[SettingGroup, ...]:
    """All fields of a study's settings, those of its exercises and of muscles with filters of their own among them."""
    names = sorted({trial.exercise for trial in study.trials if trial.exercise} | {e.name for e in study.exercises})
    exercises = tuple(
        field
        for name in names
        for field in (
            SettingField(f"first_phase[{name}]", f"{name}: begins with", choices=(AUTOMATIC, LOWERING, RAISING)),
            SettingField(f"against_load[{name}]", f"{name}: against the load", choices=(RAISING, LOWERING)),
        )
    )
    muscles = tuple(
        SettingGroup(f"Filter of {own.muscle}", filter_fields(own.muscle)) for own in study.settings.muscle_filters
    )
    groups = (
        SettingGroup("Filter of all muscles", filter_fields()),
        *muscles,
        SettingGroup("Envelope", _ENVELOPE),
        SettingGroup("Repetitions and phases", _PHASES),
        SettingGroup("Counting", _COUNTING),
        SettingGroup("Exercises", exercises),
    )
    return tuple(group for group in groups if group.fields)
