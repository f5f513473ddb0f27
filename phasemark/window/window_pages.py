"""The pages of the window and how they take turns: one over the whole window, or the study in its two halves.

pages = WindowPages(grid, tables, (settings, *tables), (desk, empty), (start, waiting, comparison))
pages.show_whole(page)                  one of the last, or pages.study
pages.show_beside(page, seen=True)      on the left of the study: the grid or a page in its place
pages.show_trial_side(page)             on the right of the study
"""

from collections.abc import Sequence

from PySide6.QtWidgets import QSizePolicy, QSplitter, QStackedWidget, QWidget

_LEFT_PX, _RIGHT_PX = 300, 1140


class WindowPages(QStackedWidget):
    """Shows one page at a time in each place; tables are as wide as they ask for, up to half the window."""

    def __init__(
        self,
        grid: QWidget,
        tables: Sequence[QWidget],
        pages: Sequence[QWidget],
        trial_side: Sequence[QWidget],
        whole: Sequence[QWidget],
    ) -> None:
        super().__init__()
        self._grid, self._tables, self._lefts = grid, tuple(tables), (grid, *pages)
        self._left, self._right, self.study = QStackedWidget(), QStackedWidget(), QSplitter()
        self._grid_sizes: list[int] = []
        for stack, parts in ((self._left, self._lefts), (self._right, trial_side), (self, (*whole, self.study))):
            for part in parts:
                stack.addWidget(part)
        self._ask_room(grid)
        self.study.addWidget(self._left)
        self.study.addWidget(self._right)
        self.study.setStretchFactor(1, 1)
        self.study.setSizes([_LEFT_PX, _RIGHT_PX])
        self.study.setChildrenCollapsible(False)

    @property
    def beside(self) -> QWidget | None:
        """What is shown beside the trial, also where the study is not seen."""
        return self._left.currentWidget()

    def show_whole(self, page: QWidget) -> None:
        """Show a page over the whole window, or the study."""
        self.setCurrentWidget(page)

    def show_trial_side(self, page: QWidget) -> None:
        """Show the trial in view, or what stands in its place."""
        self._right.setCurrentWidget(page)

    def show_beside(self, shown: QWidget, *, seen: bool) -> None:
        """Show the grid or a page in its place; where it is not seen the trial's side has all the room."""
        before = self.beside
        self._ask_room(shown)
        self._left.setCurrentWidget(shown)
        self._left.setVisible(seen)
        if shown is not before:
            self._give_room(shown, before)

    def _ask_room(self, shown: QWidget) -> None:
        """What is not shown asks for no room."""
        for part in self._lefts:
            asks = QSizePolicy.Policy.Preferred if part is shown else QSizePolicy.Policy.Ignored
            part.setSizePolicy(asks, asks)

    def _give_room(self, shown: QWidget, before: QWidget | None) -> None:
        """Give a page of tables the width it asks for; the grid gets back what it had."""
        if before not in self._tables:
            self._grid_sizes = self.study.sizes()
        if shown in self._tables:
            whole = sum(self.study.sizes())
            left = max(self.study.sizes()[0], min(shown.sizeHint().width(), whole // 2))
            self.study.setSizes([left, whole - left])
        elif before in self._tables:
            self.study.setSizes(self._grid_sizes)
