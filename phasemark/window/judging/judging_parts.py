"""Small parts that the pages for judging share."""

from collections.abc import Sequence

from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLayout,
    QLayoutItem,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from phasemark.window.elided_label import ElidedLabel


def plain_label(text: str = "") -> QLabel:
    """Words that are broken where room is short."""
    label = QLabel(text)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return label


def push_button(text: str, name: str) -> QPushButton:
    """A button with a name for a screen reader, which is its hint too."""
    button = QPushButton(text)
    button.setAccessibleName(name)
    button.setToolTip(name)
    return button


def page_head(title: str, back: QPushButton) -> QHBoxLayout:
    """The title of a page, and the way back from it."""
    label = ElidedLabel(title)
    font = label.font()
    font.setBold(True)
    label.setFont(font)
    head = QHBoxLayout()
    head.addWidget(label, 1)
    head.addWidget(back)
    return head


class EmptyNote(QWidget):
    """What is to be read where there are no rows, with a button for what can be done about it."""

    asked = Signal()

    def __init__(self, verb: str, name: str) -> None:
        super().__init__()
        self.words, self.button = plain_label(), push_button(verb, name)
        self.button.clicked.connect(self.asked)
        column = QVBoxLayout(self)
        column.addStretch(1)
        column.addWidget(self.words)
        row = QHBoxLayout()
        row.addWidget(self.button)
        row.addStretch(1)
        column.addLayout(row)
        column.addStretch(3)

    def say(self, words: str, *, ask: bool) -> None:
        """Show words, with the button or without."""
        self.words.setText(words)
        self.button.setVisible(ask)


class _Flow(QLayout):
    """Widgets side by side, in a further row where a row is full."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self.setContentsMargins(0, 0, 0, 0)

    def addItem(self, item: QLayoutItem) -> None:
        """Take an item."""
        self._items.append(item)

    def count(self) -> int:
        """Items."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """The item at a place."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Give an item up."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def hasHeightForWidth(self) -> bool:
        """Narrower is higher."""
        return True

    def heightForWidth(self, width: int) -> int:
        """The height of all rows."""
        return self._lay(QRect(0, 0, width, 0), move=False)

    def setGeometry(self, rect: QRect) -> None:
        """Place the items."""
        super().setGeometry(rect)
        self._lay(rect, move=True)

    def minimumSize(self) -> QSize:
        """The widest item."""
        size = QSize()
        for item in self._items:
            size = size.expandedTo(item.minimumSize())
        return size

    def sizeHint(self) -> QSize:
        """All in one row."""
        shown = [item for item in self._items if not item.isEmpty()]
        wide = sum(item.sizeHint().width() for item in shown) + self._gap() * max(len(shown) - 1, 0)
        return QSize(wide, max((item.sizeHint().height() for item in shown), default=0))

    def _gap(self) -> int:
        return max(self.spacing(), 6)

    def _lay(self, rect: QRect, *, move: bool) -> int:
        x, y, row = rect.x(), rect.y(), 0
        for item in self._items:
            if item.isEmpty():
                continue
            size = item.sizeHint()
            if x > rect.x() and x + size.width() > rect.x() + rect.width():
                x, y, row = rect.x(), y + row + self._gap(), 0
            if move:
                item.setGeometry(QRect(x, y, min(size.width(), rect.width()), size.height()))
            x += size.width() + self._gap()
            row = max(row, size.height())
        return y + row - rect.y()


class FlowRow(QWidget):
    """Buttons side by side, in a further row where there is no room."""

    def __init__(self, parts: Sequence[QWidget]) -> None:
        super().__init__()
        flow = _Flow(self)
        for part in parts:
            flow.addWidget(part)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
