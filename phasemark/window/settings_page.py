"""Settings of the study beside the trial in view: a value takes effect there as soon as its field is left."""

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from phasemark.model.settings_text import settings_lines
from phasemark.model.study import Study
from phasemark.window.elided_label import ElidedLabel
from phasemark.window.setting_fields import SettingField, SettingGroup, setting_groups

Editor = QLineEdit | QComboBox
_LETTERS, _WORDS = 8, 22  # least widths of a field and of its words


def _bold(font: QFont) -> QFont:
    bold = QFont(font)
    bold.setBold(True)
    return bold


class SettingsPage(QFrame):
    """Fields of all settings. A study goes in; changed(key, text) comes out, and refused values go back.

    Every change is an edit of its own, so that its effect is seen at once and undo takes it back.
    """

    changed = Signal(str, str)
    markAgain = Signal()
    done = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Settings of the study")
        self._groups: tuple[SettingGroup, ...] = ()
        self._editors: dict[str, Editor] = {}
        self._values: Mapping[str, str] = {}
        self._editable = False
        self._said = QLabel()
        self._said.setWordWrap(True)
        self.again = QPushButton("Mark all trials again")
        self.again.clicked.connect(self.markAgain)
        self._area = QScrollArea()
        self._area.setWidgetResizable(True)
        self._area.setFrameShape(QScrollArea.Shape.NoFrame)
        self._area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        column = QVBoxLayout(self)
        column.addLayout(self._head())
        column.addWidget(self._said)
        column.addWidget(self.again)
        column.addWidget(self._area, 1)
        self.say("")

    def _head(self) -> QHBoxLayout:
        """The title, and the way back to the grid."""
        title = ElidedLabel("Settings of the study")
        title.setFont(_bold(title.font()))
        self.close_button = QPushButton("Back to the &grid")
        self.close_button.setAccessibleName("Put the settings away")
        self.close_button.clicked.connect(self.done)
        head = QHBoxLayout()
        head.addWidget(title, 1)
        head.addWidget(self.close_button)
        return head

    def take_focus(self) -> None:
        """Put the keyboard into the first field."""
        first = next(iter(self._editors.values()), None)
        if first is not None:
            first.setFocus(Qt.FocusReason.OtherFocusReason)

    def sizeHint(self) -> QSize:
        """As wide as its labels and fields need, so that nothing is cut off at the side."""
        return QSize(self.minimumSizeHint().width(), super().sizeHint().height())

    def say(self, sentence: str, *, mark_again: bool = False) -> None:
        """Say why a value was refused, or that marks are older than the settings."""
        self._said.setText(sentence)
        self._said.setVisible(bool(sentence))
        self.again.setVisible(mark_again)

    @property
    def said(self) -> str:
        """What is said above the fields, '' while nothing is."""
        return "" if self._said.isHidden() else self._said.text()

    def show_study(self, study: Study | None, *, editable: bool) -> None:
        """Show the settings of a study; fields that did not change keep focus and cursor."""
        groups = () if study is None else setting_groups(study)
        self._values = {} if study is None else dict(settings_lines(study))
        if groups != self._groups:
            self._groups = groups
            self._build()
        self._editable = editable
        self._fill()

    def _fill(self) -> None:
        for key, editor in self._editors.items():
            editor.setEnabled(self._editable)
            self._put(editor, self._values.get(key, ""))

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's font: widths are made from it."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange and self._groups:
            self._build()
            self._fill()

    def field(self, key: str) -> Editor:
        """The field of a setting."""
        return self._editors[key]

    def _build(self) -> None:
        self._editors = {}
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 8, 0)
        for group in self._groups:
            title = QLabel(group.title)
            title.setFont(_bold(title.font()))
            column.addSpacing(self.fontMetrics().height() // 2)
            column.addWidget(title)
            form = QFormLayout()
            form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.DontWrapRows)
            form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
            for field in group.fields:
                self._add(form, field, group)
            column.addLayout(form)
        column.addStretch(1)
        self._area.setWidget(content)
        bar = self._area.verticalScrollBar().sizeHint().width()
        self._area.setMinimumWidth(content.minimumSizeHint().width() + bar)

    def _add(self, form: QFormLayout, field: SettingField, group: SettingGroup) -> None:
        editor: Editor
        if field.choices:
            editor = QComboBox()
            editor.addItems(list(field.choices))
            editor.activated.connect(lambda _, k=field.key: self._on_left(k))
        else:
            editor = QLineEdit()
            editor.editingFinished.connect(lambda k=field.key: self._on_left(k))
        unit = f" in {field.unit}" if field.unit else ""
        editor.setAccessibleName(f"{group.title}: {field.label}{unit}")
        editor.setToolTip(field.hint)
        self._editors[field.key] = editor
        least = _LETTERS * self.fontMetrics().averageCharWidth()
        if isinstance(editor, QLineEdit):  # a box of choices is as wide as its longest one
            editor.setMinimumWidth(least)
        words = QLabel(f"{field.label} ({field.unit})" if field.unit else field.label)
        words.setWordWrap(True)
        words.setBuddy(editor)
        words.setMinimumWidth(_WORDS * self.fontMetrics().averageCharWidth())
        form.addRow(words, editor)

    @staticmethod
    def _text(editor: Editor) -> str:
        return editor.currentText() if isinstance(editor, QComboBox) else editor.text()

    def _put(self, editor: Editor, text: str) -> None:
        if self._text(editor) == text:
            return
        if isinstance(editor, QComboBox):
            editor.setCurrentText(text)
        else:
            editor.setText(text)

    def _on_left(self, key: str) -> None:
        """Hand on a value that was changed; where it is refused the study is shown again with the old one."""
        text = self._text(self._editors[key]).strip()
        if text != self._values.get(key, ""):
            self.say("")
            self.changed.emit(key, text)
