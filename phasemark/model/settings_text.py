"""Settings of a study as KEY=VALUE texts, to show and to change them one by one.

Keys are the fields of the settings with dots ('filter.lowpass_hz'); a muscle, an exercise or an MVIC position
stands in square brackets ('filter[vastus medialis].order', 'first_phase[squat]', 'mvic[knee extension]'). A
filter that is off reads 'off'.
"""

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

from phasemark.model.errors import BadCall
from phasemark.model.exercise_text import EXERCISE_KEYS, exercise_lines, with_exercise_setting
from phasemark.model.normalisation import MvicPosition
from phasemark.model.setting_values import OFF, parsed, value_text
from phasemark.model.settings import CountedReps, CountRule, FilterSettings, MuscleFilter, MuscleRatio, ThirdsRule
from phasemark.model.study import Kind, Study
from phasemark.model.study_edits import with_settings

GROUPS = ("filter", "envelope", "phases", "normalisation", "baseline", "uncertainty", "hold", "quality")
_BRACKET = re.compile(r"^(?P<head>\w+)\[(?P<name>.+)\](?:\.(?P<field>\w+))?$")
# Fields that hold a number or nothing, and so cannot tell their type by a value of None.
_NUMBER_OR_OFF = {"highpass_hz", "lowpass_hz", "movement_lowpass_hz", "notch_hz"}
_ALL = "all"


def settings_lines(study: Study) -> Iterator[tuple[str, str]]:
    """All settings of a study, each as its key and its value in text, and what is known of each exercise."""
    settings = study.settings
    for name in GROUPS:
        yield from _lines(name, getattr(settings, name))
    for own in settings.muscle_filters:
        yield from _lines(f"filter[{own.muscle}]", own.filter)
    yield "counted", counted_text(settings.counted)
    yield "pause_in_rep", value_text(settings.pause_in_rep)
    yield "ratios", ratios_text(settings.ratios)
    serves = {entry.position: entry.muscles for entry in settings.normalisation.positions}
    performed = {trial.exercise for trial in study.trials if trial.kind is Kind.MVIC and trial.exercise}
    for position in sorted(performed | set(serves)):
        yield f"mvic[{position}]", ", ".join(serves.get(position, (_ALL,)))
    yield from exercise_lines(study)


def _lines(prefix: str, value: object) -> Iterator[tuple[str, str]]:
    assert is_dataclass(value)
    for field in fields(value):
        if field.name != "positions":  # an MVIC position has a key of its own
            yield f"{prefix}.{field.name}", value_text(getattr(value, field.name))


def ratios_text(ratios: tuple[MuscleRatio, ...]) -> str:
    """Ratios of muscles as text: 'vastus medialis / vastus lateralis, ...', or 'none'."""
    return ", ".join(f"{ratio.muscle} / {ratio.over}" for ratio in ratios) or "none"


def counted_text(counted: CountedReps) -> str:
    """The counted repetitions in words: 'all', 'all but first and last', or their numbers."""
    return ", ".join(map(str, counted.numbers)) if counted.rule is CountRule.LISTED else str(counted.rule)


def with_setting(study: Study, key: str, text: str) -> Study:
    """The study with one setting changed.

    Raises:
        BadCall: no such key, or a value it cannot have; the sentence says which it can.
    """
    settings = study.settings
    bracket = _BRACKET.match(key)
    if bracket is not None:
        return _with_named(study, bracket["head"], bracket["name"], bracket["field"], text)
    if key == "counted":
        return with_settings(study, replace(settings, counted=_counted(text)))
    if key == "pause_in_rep":
        return with_settings(study, replace(settings, pause_in_rep=parsed(key, text, True)))
    if key == "ratios":
        return with_settings(study, replace(settings, ratios=_ratios(text)))
    head, _, field = key.partition(".")
    if head not in GROUPS or not field:
        raise _unknown(study, key)
    group = getattr(settings, head)
    return with_settings(study, replace(settings, **{head: _with_field(study, group, key, field, text)}))


def _with_named(study: Study, head: str, name: str, field: str | None, text: str) -> Study:
    settings = study.settings
    if head == "filter" and field is not None:
        others = [own for own in settings.muscle_filters if own.muscle != name]
        own = _with_field(study, settings.filter_for(name), f"filter[{name}].{field}", field, text)
        kept = others if own == settings.filter else [*others, MuscleFilter(name, own)]
        ordered = tuple(sorted(kept, key=lambda muscle: muscle.muscle))
        return with_settings(study, replace(settings, muscle_filters=ordered))
    if head == "mvic" and field is None:
        return _with_position(study, name, text)
    if head in EXERCISE_KEYS and field is None:
        return with_exercise_setting(study, head, name, text)
    raise _unknown(study, f"{head}[{name}]{'.' + field if field else ''}")


def _with_position(study: Study, position: str, text: str) -> Study:
    """An MVIC position with the muscles that it is a reference for; 'all' takes it off the list."""
    normalisation = study.settings.normalisation
    others = [entry for entry in normalisation.positions if entry.position != position]
    muscles = tuple(part.strip() for part in text.split(",") if part.strip())
    if muscles != (_ALL,):
        known = {channel.muscle for trial in study.trials for channel in trial.emg}
        strange = [muscle for muscle in muscles if known and muscle not in known]
        if strange or not muscles:
            raise BadCall(
                f"mvic[{position}] is {_ALL} or muscles of this study with commas between them "
                f"({', '.join(sorted(known))}), not {text!r}."
            )
        others.append(MvicPosition(position, muscles))
    ordered = tuple(sorted(others, key=lambda entry: entry.position))
    return with_settings(study, replace(study.settings, normalisation=replace(normalisation, positions=ordered)))


def _ratios(text: str) -> tuple[MuscleRatio, ...]:
    if text.strip() in ("", "none"):
        return ()
    pairs = [part.split("/") for part in text.split(",")]
    if any(len(pair) != 2 for pair in pairs):
        raise BadCall(f"ratios are pairs of muscles such as 'biceps femoris / vastus medialis', or none; not {text!r}.")
    return tuple(MuscleRatio(muscle.strip(), over.strip()) for muscle, over in pairs)


def _with_field(study: Study, group: Any, key: str, field: str, text: str) -> Any:
    if field not in {f.name for f in fields(group)} - {"positions"}:
        raise _unknown(study, key)
    if field == "thirds":
        return _with_thirds(group, text)
    if field == "fixed_levels":
        levels = _levels(text)
        thirds = ThirdsRule.REP if group.thirds is ThirdsRule.FIXED else group.thirds
        return replace(group, fixed_levels=levels, thirds=ThirdsRule.FIXED if levels else thirds)
    optional = field in _NUMBER_OR_OFF
    value = None if optional and text.strip() == OFF else parsed(key, text, 0.0 if optional else getattr(group, field))
    return replace(group, **{field: value})


def _with_thirds(group: Any, text: str) -> Any:
    """'rep', 'trial', 'time', 'none', or two fixed levels as numbers."""
    word = text.strip()
    if word in set(ThirdsRule) - {ThirdsRule.FIXED}:
        return replace(group, thirds=ThirdsRule(word), fixed_levels=None)
    try:
        levels = group.fixed_levels if word == ThirdsRule.FIXED else _levels(word)
    except BadCall:
        levels = None
    if levels is None:
        raise BadCall(f"phases.thirds is one of rep, trial, time, none, or two levels such as 20, 50; not {text!r}.")
    return replace(group, thirds=ThirdsRule.FIXED, fixed_levels=levels)


def _levels(text: str) -> tuple[float, float] | None:
    if text.strip() == OFF:
        return None
    try:
        low, high = (float(part) for part in text.split(","))
    except ValueError:
        raise BadCall(
            f"Fixed levels are two numbers with a comma between them, such as 20, 50; not {text!r}."
        ) from None
    return low, high


def _counted(text: str) -> CountedReps:
    word = text.strip()
    if word in (CountRule.ALL, CountRule.INNER):
        return CountedReps(CountRule(word))
    try:
        numbers = tuple(sorted({int(part) for part in word.split(",")}))
    except ValueError:
        numbers = ()
    if not numbers or numbers[0] < 1:
        raise BadCall(
            "counted is 'all', 'all but first and last', or numbers of repetitions from 1 on, such as 2,3,4; "
            f"not {text!r}."
        )
    return CountedReps(CountRule.LISTED, numbers)


def _unknown(study: Study, key: str) -> BadCall:
    names = ", ".join(name for name, _ in settings_lines(study) if "[" not in name)
    return BadCall(
        f"There is no setting {key!r}; there are {names}, mvic[POSITION], "
        f"{', '.join(f'{head}[EXERCISE]' for head in EXERCISE_KEYS)} "
        f"and filter[MUSCLE].{fields(FilterSettings)[0].name} and the like."
    )
