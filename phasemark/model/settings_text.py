"""Settings of a study as KEY=VALUE texts, to show and to change them one by one.

Keys are the fields of the settings with dots ('filter.lowpass_hz'); a muscle or an exercise stands in square
brackets ('filter[vastus medialis].order', 'first_phase[squat]'). A filter that is off reads 'off'.
"""

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from typing import Any

from phasemark.model.errors import BadCall
from phasemark.model.marks import LOWERING, RAISING
from phasemark.model.settings import CountedReps, CountRule, FilterSettings, MuscleFilter, ThirdsRule
from phasemark.model.study import Exercise, Study
from phasemark.model.study_edits import with_exercise, with_settings

OFF = "off"
AUTOMATIC = "automatic"
_BRACKET = re.compile(r"^(?P<head>\w+)\[(?P<name>.+)\](?:\.(?P<field>\w+))?$")
# Fields that hold a number or nothing, and so cannot tell their type by a value of None.
_NUMBER_OR_OFF = {"highpass_hz", "lowpass_hz", "movement_lowpass_hz"}


def settings_lines(study: Study) -> Iterator[tuple[str, str]]:
    """All settings of a study, each as its key and its value in text, and what is known of each exercise."""
    settings = study.settings
    for name in ("filter", "envelope", "phases"):
        yield from _lines(name, getattr(settings, name))
    for own in settings.muscle_filters:
        yield from _lines(f"filter[{own.muscle}]", own.filter)
    yield "counted", counted_text(settings.counted)
    yield "pause_in_rep", _text(settings.pause_in_rep)
    named = {trial.exercise for trial in study.trials if trial.exercise} | {e.name for e in study.exercises}
    for name in sorted(named):
        exercise = study.exercise(name)
        yield f"first_phase[{name}]", exercise.first_phase or AUTOMATIC
        yield f"against_load[{name}]", exercise.against_load


def _lines(prefix: str, value: object) -> Iterator[tuple[str, str]]:
    assert is_dataclass(value)
    for field in fields(value):
        yield f"{prefix}.{field.name}", _text(getattr(value, field.name))


def _text(value: object) -> str:
    if value is None:
        return OFF
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(_text(part) for part in value)
    if isinstance(value, float):
        return repr(value)
    return str(value)


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
        return with_settings(study, replace(settings, pause_in_rep=_parsed(key, text, True)))
    head, _, field = key.partition(".")
    if head not in ("filter", "envelope", "phases") or not field:
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
    known = study.exercise(name)
    word = text.strip()
    if head == "first_phase" and field is None and word in (AUTOMATIC, LOWERING, RAISING):
        return with_exercise(study, replace(known, first_phase=None if word == AUTOMATIC else word))
    if head == "against_load" and field is None and word in (LOWERING, RAISING):
        return with_exercise(study, Exercise(known.name, known.first_phase, word))
    if head in ("first_phase", "against_load") and field is None:
        also = f"{AUTOMATIC}, " if head == "first_phase" else ""
        raise BadCall(f"{head}[{name}] is one of {also}{LOWERING}, {RAISING}, not {text!r}.")
    raise _unknown(study, f"{head}[{name}]{'.' + field if field else ''}")


def _with_field(study: Study, group: Any, key: str, field: str, text: str) -> Any:
    if field not in {f.name for f in fields(group)}:
        raise _unknown(study, key)
    if field == "thirds":
        return _with_thirds(group, text)
    if field == "fixed_levels":
        levels = _levels(text)
        thirds = ThirdsRule.REP if group.thirds is ThirdsRule.FIXED else group.thirds
        return replace(group, fixed_levels=levels, thirds=ThirdsRule.FIXED if levels else thirds)
    optional = field in _NUMBER_OR_OFF
    value = None if optional and text.strip() == OFF else _parsed(key, text, 0.0 if optional else getattr(group, field))
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


def _parsed(key: str, text: str, like: Any) -> Any:
    word = text.strip()
    try:
        if isinstance(like, bool):
            return {"yes": True, "no": False}[word.lower()]
        if isinstance(like, Enum):
            return type(like)(word)
        return type(like)(word)
    except (ValueError, KeyError):
        raise BadCall(f"{key} is {_choices(like)}, not {text!r}.") from None


def _choices(like: object) -> str:
    if isinstance(like, bool):
        return "yes or no"
    if isinstance(like, Enum):
        return "one of " + ", ".join(str(member) for member in type(like))
    return "a whole number" if isinstance(like, int) else "a number"


def _unknown(study: Study, key: str) -> BadCall:
    names = ", ".join(name for name, _ in settings_lines(study) if "[" not in name)
    return BadCall(
        f"There is no setting {key!r}; there are {names}, first_phase[EXERCISE], against_load[EXERCISE] "
        f"and filter[MUSCLE].{fields(FilterSettings)[0].name} and the like."
    )
