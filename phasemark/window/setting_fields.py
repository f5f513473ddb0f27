"""The settings of a study as fields of a form, made from what the catalogue says and what the study has. No Qt.

A setting that the catalogue does not know yet is shown all the same, with words made from its key.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from phasemark.model.settings import Settings
from phasemark.model.settings_text import settings_lines
from phasemark.model.study import Study

NAMED = "[]"
"""Stands in a key for the muscle, exercise or position in square brackets, and NAME in a label for its name."""
NAME = "{name}"
_BRACKET = re.compile(r"\[.*\]")
_UNITS = {"hz": "Hz", "s": "s", "ms": "ms", "uv": "µV", "mv": "mV", "db": "dB", "share": "share", "ratio": "times"}


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the values that a setting can have, and how it is said; '' as it is."""

    value: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Condition:
    """Where another setting has one of some values, or, where holds is False, none of them."""

    key: str
    values: tuple[str, ...]
    holds: bool = True

    def met(self, values: Mapping[str, str]) -> bool:
        """Whether it is so."""
        return (values.get(self.key, "") in self.values) is self.holds


@dataclass(frozen=True, slots=True)
class SettingField:
    """One field: the key of the setting, its words, its unit; choices where it has only some values.

    parts names the values of a setting that has several with commas between them. A field is shown only_if a condition
    is met. opens is a choice that can be made only with another setting: the choice and that setting's key.
    """

    key: str
    label: str
    unit: str = ""
    choices: tuple[Choice, ...] = ()
    hint: str = ""
    parts: tuple[str, ...] = ()
    only_if: Condition | None = None
    opens: tuple[str, str] | None = None

    @property
    def words(self) -> str:
        """Label and unit."""
        return f"{self.label} ({self.unit})" if self.unit else self.label

    def named(self, name: str) -> "SettingField":
        """The field of one muscle, exercise or position."""
        condition = self.only_if
        return replace(
            self,
            key=_with_name(self.key, name),
            label=self.label.replace(NAME, name),
            only_if=None if condition is None else replace(condition, key=_with_name(condition.key, name)),
        )


@dataclass(frozen=True, slots=True)
class SettingGroup:
    """Fields that belong together. one_each makes a group for each name, else all names are in one."""

    title: str
    fields: tuple[SettingField, ...]
    one_each: bool = False

    def finds(self, words: str) -> tuple[str, ...]:
        """Keys of the fields in which all words are that one looks for; all of them where the title has them."""
        wanted = words.casefold().split()
        return tuple(
            field.key
            for field in self.fields
            if all(word in f"{self.title} {field.words} {field.hint} {field.key}".casefold() for word in wanted)
        )


def _with_name(key: str, name: str) -> str:
    return key.replace(NAMED, f"[{name}]")


def setting_values(study: Study) -> dict[str, str]:
    """Every setting's key and value; a muscle without filters of its own has those of all muscles.

    They keep their order when a muscle gets filters of its own or gives them back.
    """
    lines = dict(settings_lines(study))
    values = {key: value for key, value in lines.items() if not key.startswith("filter[")}
    of_all = {key.removeprefix("filter."): value for key, value in values.items() if key.startswith("filter.")}
    muscles = {channel.muscle for trial in study.trials for channel in trial.emg}
    for muscle in sorted(muscles | {own.muscle for own in study.settings.muscle_filters}):
        for field, value in of_all.items():
            key = f"filter[{muscle}].{field}"
            values[key] = lines.get(key, value)
    return values


def setting_defaults(study: Study) -> dict[str, str]:
    """What each setting is where nobody has changed it; a muscle's filters are as those of all muscles are now."""
    plain = setting_values(replace(study, settings=Settings(), exercises=()))
    now = dict(settings_lines(study))
    defaults = {key: now[_of_all(key)] if _of_all(key) != key else value for key, value in plain.items()}
    return defaults | {key: now[_of_all(key)] for key in now if _of_all(key) != key}


def _of_all(key: str) -> str:
    """The setting of all muscles that one of a single muscle goes back to."""
    return _BRACKET.sub("", key) if key.startswith("filter[") else key


def setting_groups(
    values: Mapping[str, str], catalogue: Iterable[SettingGroup], units: Mapping[str, str] | None = None
) -> tuple[SettingGroup, ...]:
    """All settings of a study in the groups of a catalogue; units are those that only the study knows, by key."""
    groups = [made for group in catalogue for made in _made(group, values)]
    shown = {field.key for group in groups for field in group.fields}
    for key in values:
        if key not in shown:
            _take_in(groups, key)
    known = units or {}
    return tuple(
        replace(group, fields=tuple(replace(f, unit=known.get(f.key, f.unit)) for f in group.fields))
        for group in groups
    )


def _made(group: SettingGroup, values: Mapping[str, str]) -> list[SettingGroup]:
    """A group of the catalogue with the settings that are there, for every name that they have."""
    patterns = {field.key for field in group.fields}
    names = dict.fromkeys(
        found[0][1:-1] for key in values if (found := _BRACKET.search(key)) and _BRACKET.sub(NAMED, key) in patterns
    )
    if not names:
        made = [replace(group, fields=tuple(field for field in group.fields if field.key in values))]
    else:
        each = {name: tuple(field.named(name) for field in group.fields) for name in names}
        if group.one_each:
            made = [replace(group, title=group.title.replace(NAME, n), fields=fields) for n, fields in each.items()]
        else:
            made = [replace(group, fields=tuple(field for fields in each.values() for field in fields))]
    kept = [replace(one, fields=tuple(field for field in one.fields if field.key in values)) for one in made]
    return [one for one in kept if one.fields]


def _take_in(groups: list[SettingGroup], key: str) -> None:
    """Put a setting that the catalogue does not know beside those that its key begins like."""
    head = key.partition(".")[0]
    field = plain_field(key)
    for place, group in enumerate(groups):
        if any(known.key.partition(".")[0] == head for known in group.fields):
            groups[place] = replace(group, fields=(*group.fields, field))
            return
    groups.append(SettingGroup(_BRACKET.sub("", head).replace("_", " ").capitalize(), (field,)))


def plain_field(key: str) -> SettingField:
    """A field with words made from its key: 'quality.lost_ms' is 'Lost' in ms."""
    found = _BRACKET.search(key)
    words = (_BRACKET.sub("", key).rpartition(".")[2]).split("_")
    unit = _UNITS.get(words[-1], "") if len(words) > 1 else ""
    label = " ".join(words[:-1] if unit else words).capitalize()
    return SettingField(key, f"{found[0][1:-1]}: {label}" if found else label, unit)
