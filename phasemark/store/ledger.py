"""The ledger: every edit, appended and synced as it happens; audit trail and crash journal in one."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from phasemark.model.errors import BadData
from phasemark.store import disk
from phasemark.store.ledger_lines import (
    Gesture,
    LedgerPosition,
    decode,
    encode,
    line_after,
    line_end,
    verified,
)
from phasemark.store.migration import NewerSchema
from phasemark.store.places import LEDGER, PROJECT, aside

START = LedgerPosition()


@dataclass(frozen=True, slots=True)
class Entry:
    """A gesture in the ledger and the position after it."""

    gesture: Gesture
    position: LedgerPosition


@dataclass(frozen=True, slots=True)
class Tail:
    """The ledger from a position on.

    end is the position after the last whole gesture; torn the bytes after it that never became a whole
    gesture; damage a sentence about a bad line in the middle ('' where there is none), with which torn is empty.
    """

    entries: tuple[Entry, ...]
    end: LedgerPosition
    torn: bytes = b""
    damage: str = ""


def read_ledger(folder: Path, start: LedgerPosition = START) -> Tail:
    """The gestures after a position.

    Raises:
        Unavailable: the ledger is missing or cannot be read.
        NewerSchema: a later version of the program wrote in it.
    """
    path = folder / LEDGER
    ending = line_end(start.check) if start.offset else b""
    data = disk.read_bytes(path, max(0, start.offset - len(ending)))
    if not data.startswith(ending):
        damage = (
            f"{path} does not go on after line {start.sequence}, where {PROJECT} was written; put the whole one back."
        )
        return Tail((), start, damage=damage)
    return _Scan(path, start).tail(data[len(ending) :])


class _Scan:
    """One pass over the lines after a position."""

    def __init__(self, path: Path, start: LedgerPosition) -> None:
        self._path = path
        self._end = self._here = start
        self._entries: list[Entry] = []
        self._pending: list[dict[str, Any]] = []

    def tail(self, data: bytes) -> Tail:
        """The tail that the bytes after the position hold."""
        start = self._end.offset
        lines = _lines(data)
        for index, line in enumerate(lines):
            plain = verified(line)
            if plain is None and not any(verified(later) for later in lines[index + 1 :]):
                break
            problem = "is damaged" if plain is None else self._take(line, plain)
            if problem:
                damage = (
                    f"{self._path}, line {self._here.sequence + 1}, {problem}; what was done after it is not shown."
                )
                return Tail(tuple(self._entries), self._end, damage=damage)
        return Tail(tuple(self._entries), self._end, data[self._end.offset - start :])

    def _take(self, line: bytes, plain: dict[str, Any]) -> str:
        """Take one whole line; what is wrong with it, or nothing."""
        if plain["sequence"] != self._here.sequence + 1:
            return f"has the number {plain['sequence']}"
        if self._pending and plain.get("gesture") != self._pending[0].get("gesture"):
            return "begins a gesture before the last one has ended"
        self._pending.append(plain)
        end = plain.get("end")
        if end is not None and end != len(self._pending):
            return f"ends a gesture of {end} lines after {len(self._pending)}"
        if end is not None:
            try:
                gesture = decode(self._pending, f"{self._path}, line {self._here.sequence + 1},")
            except NewerSchema:
                raise
            except BadData as problem:
                return f"cannot be understood ({problem})"
        self._here = line_after(self._here, line)
        if end is not None:
            self._end, self._pending = self._here, []
            self._entries.append(Entry(gesture, self._end))
        return ""


def _lines(data: bytes) -> list[bytes]:
    """The lines with their ends; the last one may lack it."""
    *whole, rest = data.split(b"\n")
    return [line + b"\n" for line in whole] + ([rest] if rest else [])


def cut_torn(folder: Path, tail: Tail) -> Path:
    """Move the bytes that never became a whole gesture to a file of their own and say where.

    They are kept first and cut off then, so that nothing is lost if this is cut short.
    """
    path = folder / LEDGER
    kept = aside(path, "torn")
    disk.write_bytes(kept, tail.torn)
    disk.cut(path, tail.end.offset)
    return kept


class Ledger:
    """The ledger of a study open for appending; used by one thread at a time."""

    def __init__(self, folder: Path, end: LedgerPosition) -> None:
        """Go on after a position, which must be the end of the file."""
        self.position = end
        self._file = disk.Appender(folder / LEDGER, end.offset)

    @property
    def failure(self) -> str:
        """Why nothing can be appended any more; '' while it can."""
        return self._file.failure

    def append(self, gesture: Gesture) -> LedgerPosition:
        """Append a gesture with one sync; it is on the disk when this returns the position after it.

        Raises:
            Unavailable: the disk says no; from then on every further append is refused as well.
        """
        data, position = encode(gesture, self.position)
        self._file.append(data)
        self.position = position
        return position

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()
