"""The mapping read from JSON: every problem found in one pass, and said in one message."""

import json
import math
import re
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar

from phasemark.formats.decoding import why_unread
from phasemark.formats.mapping import (
    TIME_UNITS,
    VERSION,
    ColumnName,
    EmgColumn,
    Mapping,
    MovementColumn,
    TimeColumn,
)
from phasemark.model.clock import Rate, parse_rate
from phasemark.model.errors import BadData, Unavailable
from phasemark.model.recording import Side, Treatment, Up
from phasemark.model.units import COUNTS, parse_emg_unit

E = TypeVar("E", bound=StrEnum)
P = TypeVar("P")
_SHOWN = 5
_RATE_TEXT = re.compile(r"\d{1,12}(\.\d{0,18})?([eE][+-]?\d{1,2})?|\.\d{1,18}|\d{1,15}/\d{1,15}")
_HIGHEST_RATE = 10_000_000
_KINDS = {bool: "true or false", dict: "an object", list: "a list", str: "text", type(None): "null"}


def _shown(value: object) -> str:
    if isinstance(value, str):
        return repr(value if len(value) <= 40 else value[:37] + "...")
    return _KINDS.get(type(value), str(value))


class _Entry:
    """One JSON object being read: gives its parts by key and collects what is wrong with them."""

    def __init__(self, plain: object, place: str, known: tuple[str, ...], problems: list[str]) -> None:
        self.place, self.problems = place, problems
        self.plain: dict[str, Any] = plain if isinstance(plain, dict) else {}
        if not isinstance(plain, dict):
            self.say(f"must be an object in braces, not {_shown(plain)}")
        for key in self.plain:
            if key not in known:
                self.say(f"unknown key {_shown(key)} (known are {', '.join(known)})")

    def say(self, problem: str) -> None:
        self.problems.append(f"{self.place}: {problem}" if self.place else problem)

    def text(self, key: str, *, needed: bool = False) -> str | None:
        value = self.plain.get(key)
        if isinstance(value, str) and value.strip():
            return value.strip()
        if value is not None:
            self.say(f"{key} must be a text that is not empty, not {_shown(value)}")
        elif needed and self.plain:
            self.say(f"{key} is missing")
        return None

    def choice(self, key: str, kind: type[E]) -> E | None:
        value = self.plain.get(key)
        if value is None or value == "":
            return None
        if isinstance(value, str) and value.strip().lower() in list(kind):
            return kind(value.strip().lower())
        self.say(f"{key} must be {' or '.join(kind)}, not {_shown(value)}")
        return None

    def gain(self) -> float | None:
        value = self.plain.get("gain")
        if value is None:
            return None
        if isinstance(value, int | float | Decimal) and not isinstance(value, bool):
            gain = float(value)
            if math.isfinite(gain) and gain != 0:
                return gain
        self.say(f"gain must be a number other than zero, not {_shown(value)}")
        return None

    def rate(self) -> Rate | None:
        value = self.plain.get("rate_hz")
        if value is None:
            return None
        text = "" if isinstance(value, bool) else str(value).strip()
        if not isinstance(value, int | float | Decimal | str) or not _RATE_TEXT.fullmatch(text.lstrip("-")):
            self.say(f"rate_hz must be a number of samples a second, such as 1000, not {_shown(value)}")
            return None
        try:
            rate = parse_rate(text)
        except BadData:
            self.say(f"rate_hz must be above zero, not {_shown(value)}")
            return None
        if rate > _HIGHEST_RATE:
            self.say(f"rate_hz must be in samples a second, and {_shown(value)} is too many")
            return None
        return rate

    def column(self) -> ColumnName:
        value = self.plain.get("column")
        if isinstance(value, str) and value.strip():
            return value.strip()
        if isinstance(value, int) and not isinstance(value, bool) and value >= 1:
            return value
        if value is None:
            if self.plain:
                self.say("column is missing (a number from 1, or a title)")
        else:
            self.say(f"column must be a number from 1 or a title, not {_shown(value)}")
        return 0


def _emg_column(plain: object, place: str, problems: list[str]) -> EmgColumn:
    known = ("column", "muscle", "side", "unit", "gain", "rate_hz", "treatment")
    entry = _Entry(plain, place, known, problems)
    unit, gain = entry.text("unit"), entry.gain()
    if unit is not None:
        try:
            unit = parse_emg_unit(unit)
        except BadData as problem:
            entry.say(str(problem).rstrip("."))
    if unit == COUNTS and entry.plain.get("gain") is None:
        entry.say("raw counts need a gain in mV per count")
    return EmgColumn(
        column=entry.column(),
        muscle=entry.text("muscle", needed=True) or "",
        side=entry.choice("side", Side) or Side.NONE,
        unit=unit,
        gain=gain,
        rate=entry.rate(),
        treatment=entry.choice("treatment", Treatment) or Treatment.RAW,
    )


def _movement_column(plain: object, place: str, problems: list[str]) -> MovementColumn:
    entry = _Entry(plain, place, ("column", "kind", "unit", "up", "gain", "rate_hz"), problems)
    return MovementColumn(
        column=entry.column(),
        kind=entry.text("kind") or "movement",
        unit="" if entry.plain.get("unit") == "" else entry.text("unit"),
        up=entry.choice("up", Up),
        gain=entry.gain(),
        rate=entry.rate(),
    )


def _time_column(plain: object, problems: list[str]) -> TimeColumn | None:
    if plain is None:
        return None
    entry = _Entry(plain if isinstance(plain, dict) else {"column": plain}, "time", ("column", "unit"), problems)
    unit = entry.text("unit")
    if unit is not None and unit not in TIME_UNITS:
        entry.say(f"unit must be {' or '.join(TIME_UNITS)}, not {_shown(unit)}")
    return TimeColumn(entry.column(), unit)


def _listed(plain: object, key: str, read: Callable[[object, str, list[str]], P], problems: list[str]) -> tuple[P, ...]:
    if plain is None:
        return ()
    if isinstance(plain, dict):
        return (read(plain, key, problems),)
    if not isinstance(plain, list):
        problems.append(f"{key} must be a list of objects, not {_shown(plain)}")
        return ()
    return tuple(read(part, f"{key} {number}", problems) for number, part in enumerate(plain, 1))


def _labels(emg: tuple[EmgColumn, ...], problems: list[str]) -> None:
    names = Counter((part.muscle, part.side) for part in emg if part.muscle)
    for (muscle, side), count in names.items():
        if count > 1:
            side_text = "" if side is Side.NONE else f" ({side})"
            problems.append(f"{count} emg columns are called {muscle}{side_text}; name muscle and side apart")


def _columns_twice(mapping: Mapping, problems: list[str]) -> None:
    named = [part.column for part in mapping.emg] + [part.column for part in mapping.movement]
    named += [mapping.time.column] if mapping.time else []
    columns = Counter(column for column in named if column)
    problems += [f"column {column} is used {count} times" for column, count in columns.items() if count > 1]


def _version(entry: _Entry) -> None:
    version = entry.plain.get("version")
    if version is None and entry.plain:
        entry.say(f"version is missing (write {VERSION})")
    elif version is not None and (isinstance(version, bool) or version != VERSION):
        entry.say(f"version must be {VERSION}, not {_shown(version)}")


def _refuse(problems: list[str], name: str) -> None:
    if problems:
        more = f"; and {len(problems) - _SHOWN} more" if len(problems) > _SHOWN else ""
        raise BadData(f"{name} cannot be used: {'; '.join(problems[:_SHOWN])}{more}.")


def parse_mapping(plain: object, name: str = "The mapping") -> Mapping:
    """The mapping that JSON values state.

    Args:
        plain: the object of the JSON file, with keys version, rate_hz, emg, movement, time.
        name: what messages call it (the file's name).

    Raises:
        BadData: all that is wrong in it, in one message with the place of each problem.
    """
    problems: list[str] = []
    entry = _Entry(plain, "", ("version", "rate_hz", "emg", "movement", "time"), problems)
    _version(entry)
    mapping = Mapping(
        emg=_listed(entry.plain.get("emg"), "emg", _emg_column, problems),
        movement=_listed(entry.plain.get("movement"), "movement", _movement_column, problems),
        rate=entry.rate(),
        time=_time_column(entry.plain.get("time"), problems),
    )
    if not problems and not mapping.emg and not mapping.movement:
        entry.say("it names no emg and no movement column")
    _labels(mapping.emg, problems)
    _columns_twice(mapping, problems)
    _refuse(problems, name)
    return mapping


def _one_key_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    twice = [key for key, count in Counter(key for key, _ in pairs).items() if count > 1]
    if twice:
        raise ValueError(f"key {twice[0]!r} stands twice in one object")
    return dict(pairs)


def _no_constant(text: str) -> float:
    raise ValueError(f"{text} is not a number")


def read_mapping(path: Path) -> Mapping:
    """The mapping in a JSON file; numbers are taken as the exact decimals they are written as.

    Raises:
        Unavailable: the file cannot be read.
        BadData: it is not JSON, or not a mapping; the message names the file and each place in it.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
        plain = json.loads(text, parse_float=Decimal, parse_constant=_no_constant, object_pairs_hook=_one_key_each)
    except OSError as problem:
        raise Unavailable(f"The mapping {path.name} {why_unread(path, problem)}") from None
    except UnicodeDecodeError:
        raise BadData(f"{path.name} is not a mapping: it is not UTF-8 text.") from None
    except json.JSONDecodeError as problem:
        where = f"line {problem.lineno}, column {problem.colno}"
        raise BadData(f"{path.name} is not valid JSON: {problem.msg} at {where}.") from None
    except (ValueError, RecursionError) as problem:
        raise BadData(f"{path.name} is not a mapping: {problem}.") from None
    return parse_mapping(plain, path.name)
