"""What can be done from the window, declared once: name, text, key, menu, and when it can be done."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from phasemark.session.session import Session


class ActionName(Enum):
    """An action, named by the window's method that does it."""

    OPEN = "choose_and_open"
    EXPORT = "export_study"
    QUIT = "close"
    UNDO = "undo"
    REDO = "redo"
    MARK = "mark_study"
    MEASURE = "measure_study"


Enabled = Callable[[Session | None], bool]


def _always(_: Session | None) -> bool:
    return True


def _with_trials(session: Session | None) -> bool:
    return session is not None and bool(session.study.trials)


def _writable_with_trials(session: Session | None) -> bool:
    return _with_trials(session) and session is not None and not session.read_only


def _undoable(session: Session | None) -> bool:
    return session is not None and session.history.undoable is not None


def _redoable(session: Session | None) -> bool:
    return session is not None and session.history.redoable is not None


@dataclass(frozen=True, slots=True)
class Action:
    """One action."""

    name: ActionName
    text: str
    key: str
    menu: str
    enabled: Enabled = _always


ACTIONS = (
    Action(ActionName.OPEN, "Open study ...", "Ctrl+O", "Study"),
    Action(ActionName.EXPORT, "Export ...", "Ctrl+E", "Study", _with_trials),
    Action(ActionName.QUIT, "Close", "Ctrl+Q", "Study"),
    Action(ActionName.UNDO, "Undo", "Ctrl+Z", "Edit", _undoable),
    Action(ActionName.REDO, "Redo", "Ctrl+Shift+Z", "Edit", _redoable),
    Action(ActionName.MARK, "Mark trials without marks", "Ctrl+M", "Marks", _writable_with_trials),
    Action(ActionName.MEASURE, "Measure", "Ctrl+R", "Marks", _writable_with_trials),
)
