"""One line of the ledger: JSON that ends with a checksum of all before it.

A gesture is one line for each change (one line where nothing of the study changed), the last of which carries
the end mark. The sequence number of a line is its number in the file, from 1.
"""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any
from uuid import uuid4

from phasemark.model.changes import PART_TYPES, Change, PartKey
from phasemark.model.codec import from_plain, to_plain
from phasemark.model.errors import BadData
from phasemark.model.study import DEFAULT_RATER
from phasemark.store import plain_json
from phasemark.store.migration import LINE_STEPS, SCHEMA, migrated
from phasemark.store.places import utc_now

_CHECK_KEY = b',"check":"'
_CHECK_LENGTH = 16


class Action(StrEnum):
    """What a gesture is: an edit, one taken back, one made again, or an event that changes nothing."""

    EDIT = "edit"
    UNDO = "undo"
    REDO = "redo"
    EVENT = "event"


def new_gesture_id() -> str:
    """An id that no other gesture has."""
    return uuid4().hex[:16]


@dataclass(frozen=True, slots=True)
class Gesture:
    """What a person did in one go: in words ('moved raising begin of rep 3'), and what it changed.

    at is UTC in ISO 8601; of is the id of the gesture that an undo or redo concerns.
    """

    what: str
    changes: tuple[Change, ...] = ()
    rater: str = DEFAULT_RATER
    action: Action = Action.EDIT
    of: str = ""
    id: str = field(default_factory=new_gesture_id)
    at: str = field(default_factory=utc_now)


@dataclass(frozen=True, slots=True)
class LedgerPosition:
    """A place between two gestures: lines before it, bytes before it, checksum of the last line before it."""

    sequence: int = 0
    offset: int = 0
    check: str = ""


def checksum(body: bytes) -> str:
    """The first 16 hexadecimal digits of the SHA-256 of a line without its checksum."""
    return hashlib.sha256(body).hexdigest()[:_CHECK_LENGTH]


def line_end(check: str) -> bytes:
    """The bytes that a line with a checksum ends with."""
    return _CHECK_KEY + check.encode("ascii") + b'"}\n'


def encode(gesture: Gesture, position: LedgerPosition) -> tuple[bytes, LedgerPosition]:
    """The lines of a gesture that follows a position, and the position after them."""
    lines, count = [], max(1, len(gesture.changes))
    check = position.check
    for index in range(count):
        plain = _head(gesture, position.sequence + index + 1)
        if gesture.changes:
            plain |= _plain_change(gesture.changes[index])
        if index == count - 1:
            plain["end"] = count
        body = plain_json.dump(plain)[:-1]
        check = checksum(body)
        lines.append(body + line_end(check))
    data = b"".join(lines)
    return data, LedgerPosition(position.sequence + count, position.offset + len(data), check)


def _head(gesture: Gesture, sequence: int) -> dict[str, Any]:
    of = {"of": gesture.of} if gesture.of else {}
    return {
        "sequence": sequence,
        "schema": SCHEMA,
        "gesture": gesture.id,
        "at": gesture.at,
        "rater": gesture.rater,
        "action": str(gesture.action),
        **of,
        "what": gesture.what,
    }


def _plain_change(change: Change) -> dict[str, Any]:
    key = {name: value for name, value in to_plain(change.key).items() if value}
    return {"key": key, "before": to_plain(change.before), "after": to_plain(change.after)}


def verified(line: bytes) -> dict[str, Any] | None:
    """The JSON values of a whole line whose checksum fits; None where it does not."""
    place = line.rfind(_CHECK_KEY)
    if place < 0 or line[place:] != line_end(checksum(line[:place])):
        return None
    try:
        plain = plain_json.load(line[:place] + b"}")
    except BadData:
        return None
    return plain if isinstance(plain, dict) and isinstance(plain.get("sequence"), int) else None


def line_after(position: LedgerPosition, line: bytes) -> LedgerPosition:
    """The position after one more whole line."""
    check = line[-_CHECK_LENGTH - 3 : -3].decode("ascii")
    return LedgerPosition(position.sequence + 1, position.offset + len(line), check)


def decode(lines: Iterable[dict[str, Any]], what: str) -> Gesture:
    """The gesture of its lines.

    Raises:
        NewerSchema: a later version of the program wrote it.
        BadData: a line does not hold what it should.
    """
    current = [migrated(line, int(line.get("schema", 0)), LINE_STEPS, what) for line in lines]
    try:
        head = current[-1]
        return Gesture(
            head["what"],
            tuple(_change(line) for line in current if "key" in line),
            head["rater"],
            Action(head["action"]),
            head.get("of", ""),
            head["gesture"],
            head["at"],
        )
    except (KeyError, TypeError, ValueError) as problem:
        raise BadData(f"{what} does not hold what it should ({problem}).") from problem


def _change(line: dict[str, Any]) -> Change:
    key = from_plain(line["key"], PartKey)
    kind = PART_TYPES[key.part]
    before, after = (None if line[side] is None else from_plain(line[side], kind) for side in ("before", "after"))
    return Change(key, before, after)
