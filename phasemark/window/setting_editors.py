"""What a setting is typed or chosen in: text goes in with put, and comes out of text when entered is emitted."""

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLineEdit, QSizePolicy, QWidget

from phasemark.model.setting_values import OFF
from phasemark.window.setting_fields import Choice, SettingField
from phasemark.window.visible_edges import keep_edge_seen

_LETTERS = 8


class TextEditor(QLineEdit):
    """One value as text."""

    entered = Signal()

    def __init__(self) -> None:
        super().__init__()
        keep_edge_seen(self)
        self.editingFinished.connect(self.entered)

    def minimumSizeHint(self) -> QSize:
        """Room for a number."""
        hint = super().minimumSizeHint()
        return QSize(max(hint.width(), _LETTERS * self.fontMetrics().averageCharWidth()), hint.height())

    def put(self, text: str) -> None:
        """Show a value; the cursor stays where the value does."""
        if self.text() != text:
            self.setText(text)
            self.setCursorPosition(0)


class ChoiceEditor(QComboBox):
    """One of some values, said in words."""

    entered = Signal()

    def __init__(self, choices: tuple[Choice, ...]) -> None:
        super().__init__()
        keep_edge_seen(self)
        for choice in choices:
            self.addItem(choice.words or choice.value, choice.value)
        # A long choice gives way in the box, and is whole in its list.
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(_LETTERS)
        self.view().setTextElideMode(Qt.TextElideMode.ElideNone)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.activated.connect(lambda _: self.entered.emit())
        self.currentTextChanged.connect(self.setToolTip)

    def showPopup(self) -> None:
        """Open the list as wide as its longest choice."""
        view = self.view()
        bar = view.verticalScrollBar().sizeHint().width()
        view.setMinimumWidth(max(self.width(), view.sizeHintForColumn(0) + bar))
        super().showPopup()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page: a setting is not changed by scrolling past it."""
        event.ignore()

    def text(self) -> str:
        """The value that is chosen."""
        return str(self.currentData())

    def put(self, text: str) -> None:
        """Show a value."""
        self.setCurrentIndex(self.findData(text))


class PartsEditor(QWidget):
    """Several values side by side, entered when all of them are there, or none."""

    entered = Signal()

    def __init__(self, names: tuple[str, ...]) -> None:
        super().__init__()
        self.parts = tuple(TextEditor() for _ in names)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for name, part in zip(names, self.parts, strict=True):
            part.setPlaceholderText(name.split()[0])
            part.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
            part.entered.connect(self._on_part)
            row.addWidget(part, 1)
        self.setFocusProxy(self.parts[0])
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def name_parts(self, name: str, names: tuple[str, ...]) -> None:
        """What each part is called."""
        for part, own in zip(self.parts, names, strict=True):
            part.setAccessibleName(f"{name}, {own}")

    def _on_part(self) -> None:
        filled = [bool(part.text().strip()) for part in self.parts]
        if all(filled) or not any(filled):
            self.entered.emit()

    def text(self) -> str:
        """The values with commas between them; off where there are none."""
        texts = [part.text().strip() for part in self.parts]
        return ", ".join(texts) if any(texts) else OFF

    def put(self, text: str) -> None:
        """Show values; what is half typed stays while there are none."""
        if text == self.text():
            return
        if text == OFF:
            if all(part.text().strip() for part in self.parts):
                self._fill([""] * len(self.parts))
            return
        self._fill([part.strip() for part in text.split(",")])

    def _fill(self, texts: list[str]) -> None:
        for part, own in zip(self.parts, texts, strict=False):
            part.put(own)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Begin with the first part."""
        super().focusInEvent(event)
        self.parts[0].setFocus(event.reason())


Editor = TextEditor | ChoiceEditor | PartsEditor


def editor_of(field: SettingField, title: str) -> Editor:
    """The editor of a field, named for a screen reader."""
    name = f"{title}: {field.label}" + (f" in {field.unit}" if field.unit else "")
    if field.parts:
        several = PartsEditor(field.parts)
        several.name_parts(name, field.parts)
        several.setAccessibleName(name)
        return several
    editor = ChoiceEditor(field.choices) if field.choices else TextEditor()
    editor.setAccessibleName(name)
    return editor
