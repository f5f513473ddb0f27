"""Words broken where room is short, exactly as high as they then are."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget


class FlowingLabel(QLabel):
    """A label that takes the width it is given; asked how high it is, it answers for that width and no guessed one."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(text, parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)

    def sizeHint(self) -> QSize:
        """As high as its words are at its width; a line, where it is not seen and so has no width of its own yet."""
        if not self.isVisible():
            return QSize(0, self.fontMetrics().lineSpacing())
        return QSize(0, self.heightForWidth(max(self.width(), 1)))

    def minimumSizeHint(self) -> QSize:
        """No less than all of its words."""
        return self.sizeHint()

    def showEvent(self, event: QShowEvent) -> None:
        """What is seen has a height of its own."""
        super().showEvent(event)
        self.updateGeometry()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Another width is another height."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.updateGeometry()
