"""What the window says of its study at each moment: its title, what can be done now, and how far edits are written."""

from collections.abc import Mapping

from PySide6.QtGui import QAction

from phasemark.session.blinding import covered
from phasemark.session.session import Session
from phasemark.window.actions import ACTIONS, ON_THE_TRIAL, ActionName

SAVING = "saving …"


def title_text(session: Session | None) -> str:
    """The title of the window."""
    name = "" if session is None else f"{session.study.name}{' (read-only)' if session.read_only else ''} – "
    return f"{name}Phasemark"


def saved_text(session: Session | None) -> str:
    """Whether every edit is on the disk."""
    if session is None:
        return ""
    if session.read_only:
        return "read-only"
    return SAVING if session.unsaved else "all edits saved"


def show_what_can_be_done(
    actions: Mapping[ActionName, QAction], session: Session | None, *, closing: bool, trial_seen: bool
) -> None:
    """Enable what can be done now, and name the edits that undo and redo are about.

    While the window is closing nothing can; what acts on the trial in view can only where it is seen.
    """
    for described in ACTIONS:
        can = trial_seen or described.name not in ON_THE_TRIAL
        actions[described.name].setEnabled(not closing and can and described.enabled(session))
    undoable = session.history.undoable if session else None
    redoable = session.history.redoable if session else None
    for action, word, entry in ((ActionName.UNDO, "&Undo", undoable), (ActionName.REDO, "&Redo", redoable)):
        said = "" if session is None or entry is None else f": {covered(session, entry.text)}"
        actions[action].setText(f"{word}{said}")
