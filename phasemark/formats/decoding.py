"""A text file as decoded text: byte-order marks, encodings, line ends; what is not text is refused."""

import codecs
import hashlib
import io
from dataclasses import dataclass
from pathlib import Path

from phasemark.model.errors import BadData, Unavailable

_CHUNK = 1 << 20
_HEAD = 1 << 16
# UTF-32 first: its little-endian mark begins with that of UTF-16.
_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
# Control characters that text does not hold: all but tab, line ends, form feed, and the old end-of-file mark 0x1A.
_CONTROLS = bytes(set(range(32)) - set(b"\t\n\r\v\f\x1a"))


@dataclass(frozen=True, slots=True)
class DecodedText:
    """A file's text with line ends as LF and none at its end; whole_line says that its last line was ended."""

    name: str
    text: str
    encoding: str
    sha256: str
    whole_line: bool


def why_unread(path: Path, problem: OSError) -> str:
    """The end of the sentence on a file that cannot be read: why, and what to do about it."""
    if path.is_dir():
        return "cannot be read: it is a folder; name a file."
    if isinstance(problem, FileNotFoundError):
        return "cannot be read: there is no such file; check its name and folder."
    return f"cannot be read: {problem.strerror or problem}."


def read_bytes(path: Path, size: int = -1) -> bytes:
    """The bytes of a file (its first ones where a size is given); raises Unavailable in one sentence."""
    try:
        with path.open("rb") as file:
            return file.read(size)
    except OSError as problem:
        raise Unavailable(f"{path.name} {why_unread(path, problem)}") from None


def _wide_encoding(head: bytes) -> str | None:
    """UTF-16 without a byte-order mark: every other byte of plain text is zero."""
    even, odd = head[0:2000:2], head[1:2000:2]
    if len(odd) < 2:
        return None
    if odd.count(0) > 0.7 * len(odd) and not even.count(0):
        return "utf-16-le"
    if even.count(0) > 0.7 * len(even) and not odd.count(0):
        return "utf-16-be"
    return None


def guess_encoding(head: bytes) -> str | None:
    """The encoding that the first bytes of a file show; None where they are not text."""
    for mark, encoding in _MARKS:
        if head.startswith(mark):
            return encoding
    wide = _wide_encoding(head)
    if wide:
        return wide
    # A damaged byte or a tail of NULs is met later, line by line; a file of numbers in binary is full of them.
    body = head.rstrip(b"\0")
    if not body or len(body) - len(body.translate(None, _CONTROLS)) > 0.01 * len(body) + 3:
        return None if head else "utf-8"
    return "utf-8"


def _decode(data: bytes, encoding: str) -> list[str]:
    decoder = io.IncrementalNewlineDecoder(codecs.getincrementaldecoder(encoding)(), translate=True)
    parts = [decoder.decode(data[begin : begin + _CHUNK]) for begin in range(0, len(data), _CHUNK)]
    return [*parts, decoder.decode(b"", final=True)]


def _joined(parts: list[str]) -> tuple[str, bool]:
    """The parts as one text without line ends at its end, and whether there were any.

    What is at the end is taken off before the parts are joined: each copy of a long text stops every other thread.
    """
    ended = False
    while parts:
        bare = parts[-1].rstrip("\x1a\n")
        ended = ended or len(bare) < len(parts[-1])
        if bare:
            parts[-1] = bare
            break
        parts.pop()
    return "".join(parts), ended


def _decoded(data: bytes, encoding: str, name: str) -> tuple[list[str], str]:
    try:
        return _decode(data, encoding), encoding
    except UnicodeDecodeError:
        if encoding != "utf-8":
            raise BadData(
                f"{name} is damaged or cut off: it begins as {encoding.upper()} text but does not go on so."
            ) from None
        return _decode(data, "latin-1"), "latin-1"


def read_text(path: Path) -> DecodedText:
    """The whole text of a file.

    Raises:
        Unavailable: the file cannot be read.
        BadData: it is empty, or not text.
    """
    data = read_bytes(path)
    encoding = guess_encoding(data[:_HEAD])
    if encoding is None:
        raise BadData(f"{path.name} is not a text file; give the text or another export of the recording.")
    digest = hashlib.sha256(data).hexdigest()
    if b"\r\r\n" in data[:_HEAD]:  # written twice through a text-mode translation
        data = data.replace(b"\r\r\n", b"\n")
    parts, encoding = _decoded(data, encoding, path.name)
    text, ended = _joined(parts)
    if not text.strip():
        raise BadData(f"{path.name} is empty; give the exported recording.")
    return DecodedText(path.name, text, encoding, digest, ended)
