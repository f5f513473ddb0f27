"""What a file's name plainly says of its recording. Only what is written there is proposed, nothing is guessed."""

import re
from collections.abc import Iterable
from pathlib import Path

from phasemark.model.study import Kind

_EDGE, _END = r"(?<![A-Za-z0-9])", r"(?![A-Za-z0-9])"
# P01, VP07, sub-03, subject 4, participant_12; S1 may be a subject, a session or a set, and is not taken.
_PARTICIPANT = re.compile(
    _EDGE + r"((?:P|VP|PP|sub|subj|subject|participant)[ _-]?\d{1,4}|sub-[A-Za-z0-9]+)" + _END, re.IGNORECASE
)
_SESSION = re.compile(_EDGE + r"(?:ses|session|day)[ _-]?(\d{1,3})" + _END, re.IGNORECASE)
_SET = re.compile(_EDGE + r"set[ _-]?(\d{1,2})" + _END, re.IGNORECASE)
_LOAD = re.compile(_EDGE + r"(\d{1,4}(?:[.,]\d{1,2})?)[ _-]?(kg|lb|%1RM)" + _END, re.IGNORECASE)
_KINDS = {
    Kind.MVIC: re.compile(r"(?<![a-z])(?:mvic|mvc)(?![a-z])", re.IGNORECASE),
    Kind.QUIET: re.compile(r"(?<![a-z])(?:quiet|baseline)(?![a-z])", re.IGNORECASE),
    Kind.WARM_UP: re.compile(r"(?<![a-z])warm[ _-]?up(?![a-z])", re.IGNORECASE),
    Kind.REFERENCE: re.compile(r"(?<![a-z])reference(?![a-z])", re.IGNORECASE),
}


def _only(found: Iterable[str]) -> str:
    """The one thing found, '' where there is none or more than one."""
    distinct = {text.casefold(): text for text in found}
    return next(iter(distinct.values())) if len(distinct) == 1 else ""


def _words(text: str) -> str:
    return f" {' '.join(part for part in re.split(r'[^0-9a-zäöüßéèà%]+', text.casefold()) if part)} "


def _known_in(text: str, known: Iterable[str]) -> str:
    """The known name whose words stand in a text; '' where there is none, or several that are not part of one."""
    found = [name for name in known if _words(name).strip() and _words(name) in _words(text)]
    whole = [name for name in found if not any(_words(name) in _words(o) and o != name for o in found)]
    return _only(whole)


def _participant(path: Path, known: Iterable[str]) -> str:
    """Of the file's name; else of its folder's name, if that is nothing but the code."""
    known = tuple(known)
    here = _known_in(path.stem, known) or _only(_PARTICIPANT.findall(path.stem))
    if here:
        return _spelt_as_known(here, known)
    folder = path.parent.name
    return _spelt_as_known(folder, known) if folder in known or _PARTICIPANT.fullmatch(folder) else ""


def _spelt_as_known(code: str, known: tuple[str, ...]) -> str:
    return next((name for name in known if name.casefold() == code.casefold()), code)


def _load(stem: str) -> str:
    return _only(f"{value} {unit}" for value, unit in _LOAD.findall(stem))


def kind_in(stem: str) -> Kind | None:
    """The kind of trial a name states in words, None where it states none or more than one."""
    found = [kind for kind, words in _KINDS.items() if words.search(stem)]
    return found[0] if len(found) == 1 else None


def propose(path: Path, participants: Iterable[str], exercises: Iterable[str]) -> dict[str, str]:
    """What a file's name says: participant, kind, exercise (of the study's), session, set, load; absent where nothing.

    Args:
        path: of the file.
        participants: codes that the study has.
        exercises: names that the study has; others are never proposed.
    """
    kind = kind_in(path.stem)
    found = {
        "participant": _participant(path, participants),
        "kind": "" if kind is None else str(kind),
        "exercise": _known_in(path.stem, exercises),
        "session": _only(_SESSION.findall(path.stem)),
        "set": _only(str(int(number)) for number in _SET.findall(path.stem)),
        "load": _load(path.stem),
    }
    return {field: text for field, text in found.items() if text}
