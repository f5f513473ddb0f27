"""What a person does on the page of the comparison, and waiting for what is worked out there."""

from pathlib import Path

from pytestqt.qtbot import QtBot
from two_curls_study import LOUD, STRONG, WEAK
from whole_window import session_of, trigger

from phasemark.store.ledger import read_ledger
from phasemark.window.actions import ActionName
from phasemark.window.comparing.comparing_page import ComparingPage
from phasemark.window.main_window import MainWindow

WAIT = 60_000


def page_of(window: MainWindow) -> ComparingPage:
    """The page."""
    return window.comparing.page


def open_page(qtbot: QtBot, window: MainWindow) -> ComparingPage:
    """Open the page and wait until it says what it has to say."""
    trigger(window, ActionName.COMPARE)
    settle(qtbot, window)
    return page_of(window)


def settle(qtbot: QtBot, window: MainWindow) -> None:
    """Wait until nothing is worked out or looked up any more."""
    page = page_of(window)
    waiting = ("", "Comparing …")

    def at_rest() -> bool:
        busy = page.work.busy or window.comparing.busy or window.work.busy
        return not busy and (page.shows_form or page.shows_results or page.note.words.text() not in waiting)

    qtbot.waitUntil(at_rest, timeout=WAIT)
    qtbot.waitUntil(lambda: session_of(window).unsaved == 0, timeout=WAIT)


def fill_plan(page: ComparingPage, smallest: str = "0.01") -> None:
    """Fill the form: the strict against the loose curl, the muscle that is louder in one as the primary one."""
    form = page.form
    form.a.setCurrentIndex(form.a.findText(STRONG))
    form.b.setCurrentIndex(form.b.findText(WEAK))
    form.primary_muscle.setCurrentIndex(form.primary_muscle.findText(LOUD))
    form.smallest.setText(smallest)


def keep_plan(qtbot: QtBot, window: MainWindow, smallest: str = "0.01") -> ComparingPage:
    """Open the page, fill the form, keep the plan, and wait for results."""
    page = open_page(qtbot, window)
    fill_plan(page, smallest)
    page.form.keep.click()
    settle(qtbot, window)
    assert page.shows_results
    return page


def shown_in_ledger(study: Path) -> list[str]:
    """What the ledger says of results that were shown."""
    what = [entry.gesture.what for entry in read_ledger(study).entries]
    return [words for words in what if words.startswith("compared ")]
