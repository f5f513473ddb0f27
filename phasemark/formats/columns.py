"""Columns of a mapping found in a file, by number or title."""

from phasemark.formats.mapping import ColumnName, Mapping
from phasemark.formats.titles import Heading
from phasemark.model.errors import BadData

_SHOWN = 20


def _matches(column: str, headings: tuple[Heading, ...]) -> list[Heading]:
    """Headings with this title: exactly, else without regard to case and blanks, else by name without its unit."""
    wanted = " ".join(column.split()).casefold()
    for same in (
        lambda heading: heading.title == column,
        lambda heading: " ".join(heading.title.split()).casefold() == wanted,
        lambda heading: " ".join(heading.name.split()).casefold() == wanted,
    ):
        found = [heading for heading in headings if heading.title and same(heading)]
        if found:
            return found
    return []


def _number(column: ColumnName, headings: tuple[Heading, ...], problems: list[str], place: str) -> int:
    if isinstance(column, int):
        if not 1 <= column <= len(headings):
            problems.append(f"there is no column {column} ({place})")
        return column
    found = _matches(column, headings)
    if len(found) == 1:
        return found[0].number
    if not found and column.isdigit() and 1 <= int(column) <= len(headings):
        return int(column)
    if found:
        places = " and ".join(str(heading.number) for heading in found)
        problems.append(f"the title {column!r} ({place}) stands over columns {places}; give the number")
    else:
        problems.append(f"there is no column with the title {column!r} ({place})")
    return 0


def columns_text(headings: tuple[Heading, ...]) -> str:
    """What columns there are, for messages."""
    named = ", ".join(heading.text for heading in headings[:_SHOWN])
    more = f" and {len(headings) - _SHOWN} more" if len(headings) > _SHOWN else ""
    return f"{len(headings)} column{'s' if len(headings) != 1 else ''}: {named}{more}"


def find_columns(mapping: Mapping, headings: tuple[Heading, ...], name: str) -> tuple[int, ...]:
    """Column numbers of all parts of a mapping: EMG, movement, then the time column if there is one.

    Raises:
        BadData: columns are missing, ambiguous or used twice; the message says which columns there are.
    """
    problems: list[str] = []
    numbers = [_number(part.column, headings, problems, f"emg {n}") for n, part in enumerate(mapping.emg, 1)]
    numbers += [_number(part.column, headings, problems, f"movement {n}") for n, part in enumerate(mapping.movement, 1)]
    if mapping.time is not None:
        numbers.append(_number(mapping.time.column, headings, problems, "time"))
    if not problems:
        twice = sorted({number for number in numbers if numbers.count(number) > 1})
        problems += [f"column {headings[number - 1].text} is used more than once" for number in twice]
    if problems:
        raise BadData(
            f"The mapping does not fit {name}: {'; '.join(problems[:5])}; the file has {columns_text(headings)}."
        )
    return tuple(numbers)
