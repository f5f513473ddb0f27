"""Recordings of open file formats: one module a format, each with sniff and read."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from phasemark.formats import text
from phasemark.formats.mapping import Mapping
from phasemark.formats.preview import Preview
from phasemark.model.errors import BadData
from phasemark.model.recording import Recording

Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class Reader:
    """A format: its name, a cheap look whether a file is of it, and the functions that read it."""

    name: str
    sniff: Callable[[Path], bool]
    read: Callable[[Path, Mapping, Progress], Recording]
    preview: Callable[[Path], Preview]


# Asked in this order; text comes last, as it has no mark of its own.
READERS = (Reader(text.FORMAT, text.sniff, text.read, text.preview),)


def reader_of(path: Path) -> Reader:
    """The reader for a file.

    Raises:
        Unavailable: the file cannot be read.
        BadData: no format fits.
    """
    for reader in READERS:
        if reader.sniff(path):
            return reader
    names = ", ".join(reader.name for reader in READERS)
    raise BadData(f"{path.name} is empty or of no known format (known: {names}); give an exported recording.")


def preview_recording(path: Path) -> Preview:
    """Columns, first rows and proposed mapping of a file; raises as reader_of, and BadData if it is no recording."""
    return reader_of(path).preview(path)


def read_recording(path: Path, mapping: Mapping | None = None, progress: Progress = text.no_progress) -> Recording:
    """The recording in a file, by the format that fits.

    Args:
        path: of the file.
        mapping: which column is what; None: what the file's own titles say, if that is complete.
        progress: called with the part done (0 to 1); it may raise Cancelled.

    Raises:
        Unavailable: the file cannot be read.
        BadData: one sentence: which file, where in it, what to do.
    """
    reader = reader_of(path)
    if mapping is None:
        seen = reader.preview(path)
        if seen.question or seen.proposed is None:
            raise BadData(seen.question)
        mapping = seen.proposed
    return reader.read(path, mapping, progress)
