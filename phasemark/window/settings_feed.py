"""The settings page kept to the study and the trial in view, where it is seen; elsewhere each edit would pay for it."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from phasemark.session.session import Session
from phasemark.window.filters.removed_feed import RemovedFeed
from phasemark.window.settings_page import SettingsPage
from phasemark.window.trial_desk import TrialDesk


class SettingsFeed(QObject):
    """Fills a settings page; seen says whether anybody looks at it."""

    problem = Signal(object)

    def __init__(
        self, page: SettingsPage, desk: TrialDesk, session: Callable[[], Session | None], seen: Callable[[], bool]
    ) -> None:
        super().__init__(desk)
        self._page, self._desk, self._session, self._seen = page, desk, session, seen
        self._removed = RemovedFeed(self)
        self._removed.arrived.connect(self.show_removed)
        self._removed.problem.connect(self.problem)
        desk.shown.connect(self.show_removed)

    def fill(self) -> None:
        """Show the study's settings."""
        session = self._session()
        if session is None:
            self._page.show_study(None, editable=False)
        elif self._seen():
            self._page.show_study(session.study, editable=not session.read_only)

    def show_removed(self) -> None:
        """Show what the filters do to the trial in view."""
        session, signals = self._session(), self._desk.signals
        if session is None or signals is None:
            self._removed.forget()
            self._page.show_trial(None, None)
        elif self._seen():
            self._removed.ask(session, signals)
            self._page.show_trial(signals.trial, self._removed.removed)
