"""What can be done from the window, declared once: name, text, key, menu, and when it can be done."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum, auto

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenuBar

from phasemark.session.session import Session


class ActionName(Enum):
    """An action."""

    NEW = auto()
    OPEN = auto()
    ADD = auto()
    SETTINGS = auto()
    QUALITY = auto()
    REFERENCES = auto()
    COMPARE = auto()
    EXPORT = auto()
    QUIT = auto()
    UNDO = auto()
    REDO = auto()
    NEXT_TRIAL = auto()
    PREVIOUS_TRIAL = auto()
    FIT_ALL = auto()
    ACCEPT = auto()
    ACCEPT_TRIAL = auto()
    PREVIOUS_REP = auto()
    TAKE_BACK_ACCEPTANCE = auto()
    EXCLUDE = auto()
    TAKE_BACK_EXCLUSION = auto()
    COMPLETE = auto()
    DRAW_REP = auto()
    ADD_REP = auto()
    DELETE_REP = auto()
    SPLIT_REP = auto()
    MERGE_REP = auto()
    MARK = auto()
    MARK_TRIAL = auto()
    MARK_AGAIN = auto()
    MEASURE = auto()
    BLIND = auto()
    REMOVE_TRIAL = auto()
    ENLARGE = auto()
    REDUCE = auto()
    FIT_SCALES = auto()
    HOLD_SCALES = auto()
    FILTERED = auto()
    BASELINE = auto()
    PLATEAU = auto()
    HOLD = auto()
    BASELINE_OF_ONE = auto()
    PLATEAU_OF_ONE = auto()
    HOLD_OF_ONE = auto()
    PLACED = auto()


Enabled = Callable[[Session | None], bool]


def _always(_: Session | None) -> bool:
    return True


def _open(session: Session | None) -> bool:
    return session is not None


def _writable(session: Session | None) -> bool:
    return session is not None and not session.read_only


def _with_trials(session: Session | None) -> bool:
    return session is not None and bool(session.study.trials)


def _writable_with_trials(session: Session | None) -> bool:
    return _with_trials(session) and _writable(session)


def _blind(session: Session | None) -> bool:
    return session is not None and session.blind


def _to_blind(session: Session | None) -> bool:
    return _blind(session) or _writable_with_trials(session)


def _undoable(session: Session | None) -> bool:
    return session is not None and session.history.undoable is not None


def _redoable(session: Session | None) -> bool:
    return session is not None and session.history.redoable is not None


@dataclass(frozen=True, slots=True)
class Action:
    """One action. key holds one key or several; apart sets it apart from those before it; switch is on or off."""

    name: ActionName
    text: str
    key: str
    menu: str
    enabled: Enabled = _always
    apart: bool = False
    switch: bool = False


_STUDY, _EDIT, _REP, _MARKS, _VIEW = "&Study", "&Edit", "&Repetition", "&Marks", "&View"
_STRETCHES = "S&tretches"
ACTIONS = (
    Action(ActionName.NEW, "&New study …", "Ctrl+N", _STUDY),
    Action(ActionName.OPEN, "&Open study …", "Ctrl+O", _STUDY),
    Action(ActionName.ADD, "&Add recordings …", "Ctrl+I", _STUDY, _writable, apart=True),
    Action(ActionName.REMOVE_TRIAL, "Remo&ve this trial …", "Ctrl+Shift+Del", _STUDY, _writable_with_trials),
    Action(ActionName.SETTINGS, "&Settings", "Ctrl+,", _STUDY, _open),
    Action(ActionName.QUALITY, "Signal &quality", "Ctrl+L", _STUDY, _with_trials),
    Action(ActionName.REFERENCES, "Re&ferences", "Ctrl+Shift+L", _STUDY, _with_trials),
    Action(ActionName.MEASURE, "&Measure", "Ctrl+R", _STUDY, _writable_with_trials, apart=True),
    Action(ActionName.COMPARE, "Com&pare …", "Ctrl+Shift+R", _STUDY, _open),
    Action(ActionName.EXPORT, "&Export …", "Ctrl+E", _STUDY, _with_trials),
    Action(ActionName.QUIT, "&Close", "Ctrl+Q", _STUDY, apart=True),
    Action(ActionName.UNDO, "&Undo", "Ctrl+Z", _EDIT, _undoable),
    Action(ActionName.REDO, "&Redo", "Ctrl+Shift+Z", _EDIT, _redoable),
    Action(ActionName.ACCEPT, "&Accept and go on", "Ctrl+Return", _REP, _writable_with_trials),
    Action(ActionName.PREVIOUS_REP, "Go &back to one still to check", "Ctrl+Shift+Return", _REP, _with_trials),
    Action(ActionName.ACCEPT_TRIAL, "Accept all of this &trial", "Ctrl+Alt+Return", _REP, _writable_with_trials),
    Action(ActionName.TAKE_BACK_ACCEPTANCE, "Take acceptance back", "", _REP, _writable_with_trials),
    Action(ActionName.EXCLUDE, "&Exclude …", "Ctrl+X", _REP, _writable_with_trials, apart=True),
    Action(ActionName.TAKE_BACK_EXCLUSION, "Take exclusion back", "Ctrl+Shift+X", _REP, _writable_with_trials),
    Action(ActionName.COMPLETE, "Take as &complete or incomplete", "Ctrl+K", _REP, _writable_with_trials),
    Action(ActionName.DRAW_REP, "Add by dra&wing over the traces", "Ctrl+D", _REP, _writable_with_trials, apart=True),
    Action(ActionName.ADD_REP, "Add over what is &seen", "Ctrl+Shift+A", _REP, _writable_with_trials),
    Action(ActionName.DELETE_REP, "&Delete", "Ctrl+Del", _REP, _writable_with_trials),
    Action(ActionName.SPLIT_REP, "S&plit at the selected boundary", "Ctrl+B", _REP, _writable_with_trials),
    Action(ActionName.MERGE_REP, "&Merge with the next one", "Ctrl+J", _REP, _writable_with_trials),
    Action(ActionName.MARK, "Mark trials &without marks", "Ctrl+M", _MARKS, _writable_with_trials),
    Action(ActionName.MARK_TRIAL, "Mark &this trial again", "Ctrl+Shift+M", _MARKS, _writable_with_trials),
    Action(ActionName.MARK_AGAIN, "Mark &all trials again", "", _MARKS, _writable_with_trials),
    Action(ActionName.BLIND, "Mark &blind", "Ctrl+Shift+B", _MARKS, _to_blind, apart=True, switch=True),
    Action(ActionName.BASELINE, "Place the &baseline", "Ctrl+1", _STRETCHES, _writable_with_trials),
    Action(ActionName.PLATEAU, "Place the &plateau of an MVIC", "Ctrl+2", _STRETCHES, _writable_with_trials),
    Action(ActionName.HOLD, "Place the stretch of a &hold", "Ctrl+3", _STRETCHES, _writable_with_trials),
    Action(
        *(ActionName.BASELINE_OF_ONE, "Baseline of one muscle", "Ctrl+Alt+1", _STRETCHES),
        enabled=_writable_with_trials,
        apart=True,
    ),
    Action(ActionName.PLATEAU_OF_ONE, "Plateau of one muscle", "Ctrl+Alt+2", _STRETCHES, _writable_with_trials),
    Action(ActionName.HOLD_OF_ONE, "Hold of one muscle", "Ctrl+Alt+3", _STRETCHES, _writable_with_trials),
    Action(ActionName.PLACED, "Placed &stretches …", "Ctrl+4", _STRETCHES, _with_trials, apart=True),
    Action(ActionName.NEXT_TRIAL, "&Next trial", "Ctrl+PgDown", _VIEW, _with_trials),
    Action(ActionName.PREVIOUS_TRIAL, "&Previous trial", "Ctrl+PgUp", _VIEW, _with_trials),
    Action(ActionName.FIT_ALL, "See the &whole trial", "Ctrl+0", _VIEW, _with_trials),
    Action(ActionName.ENLARGE, "&Enlarge amplitude", "Ctrl++ Ctrl+=", _VIEW, _with_trials, apart=True),
    Action(ActionName.REDUCE, "&Reduce amplitude", "Ctrl+-", _VIEW, _with_trials),
    Action(ActionName.FIT_SCALES, "A&utomatic scales", "Ctrl+9", _VIEW, _with_trials),
    Action(ActionName.HOLD_SCALES, "&Hold scales over trials", "Ctrl+H", _VIEW, _with_trials, switch=True),
    Action(
        *(ActionName.FILTERED, "See the &filtered signal", "Ctrl+Shift+F", _VIEW),
        enabled=_with_trials,
        apart=True,
        switch=True,
    ),
)

ON_THE_TRIAL = frozenset(
    {ActionName.REMOVE_TRIAL, ActionName.MARK_TRIAL}
    | {action.name for action in ACTIONS if action.menu in (_REP, _STRETCHES, _VIEW)}
)
"""What acts on the trial in view, and so only where one is seen."""


def make_actions(bar: QMenuBar, does: Mapping[ActionName, Callable[[], object]]) -> dict[ActionName, QAction]:
    """Fill the menus, and say which action of Qt stands for which of ours."""
    menus = {name: bar.addMenu(name) for name in dict.fromkeys(action.menu for action in ACTIONS)}
    made = {}
    for described in ACTIONS:
        action = QAction(described.text, bar)
        action.setShortcuts([QKeySequence(key) for key in described.key.split()])
        action.setCheckable(described.switch)
        action.triggered.connect(does[described.name])
        if described.apart:
            menus[described.menu].addSeparator()
        menus[described.menu].addAction(action)
        made[described.name] = action
    return made
