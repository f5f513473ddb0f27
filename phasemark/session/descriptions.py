"""What a person writes of a recording, field by field as text, read into a description or refused in words."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from phasemark.model.errors import BadCall
from phasemark.model.study import Kind, Load
from phasemark.session.importing import Description

_LOAD = re.compile(r"^\s*(?P<value>\d+(?:[.,]\d+)?)\s*(?P<unit>(?![eE][\d+-])\D.*?)?\s*$")
_FACTOR = "factor:"

PARTICIPANT, KIND, EXERCISE, SESSION, SET, ORDER, LOAD = FIELDS = (
    "participant", "kind", "exercise", "session", "set", "order", "load",
)  # fmt: skip
Row = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class RowProblem:
    """What is wrong with a row: in which field, in words."""

    field: str
    words: str


def factor_field(name: str) -> str:
    """The field that holds a factor of this name."""
    return f"{_FACTOR}{name}"


def factor_name(field: str) -> str:
    """The factor a field holds, '' where it holds none."""
    return field.removeprefix(_FACTOR) if field.startswith(_FACTOR) else ""


def parse_load(text: str | None) -> Load | None:
    """A load from its text: a number and its unit ('60 kg').

    Raises:
        BadCall: it does not begin with a number.
    """
    if text is None or not text.strip():
        return None
    found = _LOAD.match(text)
    if found is None:
        raise BadCall(f"A load is a number and its unit, such as '60 kg', not {text!r}.")
    return Load(Decimal(found["value"].replace(",", ".")), found["unit"] or "")


def _whole(row: Row, field: str) -> int | None:
    text = row.get(field, "").strip()
    if not text:
        return None
    if not re.fullmatch(r"\d{1,6}", text, re.ASCII):
        raise BadCall(f"The {field} is a whole number, not {text!r}.")
    return int(text)


def _kind(row: Row) -> Kind:
    text = row.get(KIND, "").strip().casefold()
    if text and text not in list(Kind):
        raise BadCall(f"The kind is one of {', '.join(Kind)}, not {row[KIND]!r}.")
    return Kind(text) if text else Kind.TASK


def _factors(row: Row) -> tuple[tuple[str, str], ...]:
    named = ((factor_name(field), text.strip()) for field, text in row.items())
    return tuple(sorted((name, text) for name, text in named if name and text))


def read_row(row: Row) -> Description:
    """The description that a row states; an empty set means the next one, an empty kind a task.

    Raises:
        BadCall: what is missing or wrong first.
    """
    return Description(
        row.get(PARTICIPANT, "").strip(),
        _kind(row),
        row.get(EXERCISE, "").strip(),
        row.get(SESSION, "").strip() or "1",
        _whole(row, SET),
        _whole(row, ORDER),
        parse_load(row.get(LOAD)),
        _factors(row),
    )


def row_problem(row: Row) -> RowProblem | None:
    """What is missing or wrong first in a row, None where nothing is."""
    try:
        read_row(row)
    except BadCall as problem:
        return RowProblem(_blamed(row), str(problem))
    return None


def _blamed(row: Row) -> str:
    """The field that is wrong: the first without which the row is refused for another reason, or not at all."""
    sound = {PARTICIPANT: "P", EXERCISE: "E"}
    said = _refusal(row)
    return next((field for field in FIELDS if _refusal({**row, field: sound.get(field, "")}) != said), PARTICIPANT)


def _refusal(row: Row) -> str:
    try:
        read_row(row)
    except BadCall as problem:
        return str(problem)
    return ""
