"""One group of settings that folds: its title, how many of its settings differ from their defaults, its fields."""

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QAbstractButton, QFormLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from phasemark.model.setting_values import OFF
from phasemark.window.palette import scheme_of
from phasemark.window.setting_editors import Editor, PartsEditor, editor_of
from phasemark.window.setting_fields import SettingField, SettingGroup

_AIR = 6.0
_WORDS, _VALUE = 20, 14  # widths of a field's words and of its value, in letters
CHANGED = "•"


class FoldHeader(QAbstractButton):
    """The title of a group; pressed, it opens the group or folds it."""

    def __init__(self, title: str) -> None:
        super().__init__()
        self.setCheckable(True)
        self.setText(title)
        self.setAccessibleName(title)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._aside = ""

    def say_aside(self, text: str) -> None:
        """What stands at the right of the title."""
        if text != self._aside:
            self._aside = text
            self.update()

    def sizeHint(self) -> QSize:
        """The height of a line with some air."""
        return QSize(100, round(self.fontMetrics().height() + 2 * _AIR))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter does as the blank does."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        else:
            super().keyPressEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's font."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            self.updateGeometry()

    def paintEvent(self, event: QPaintEvent) -> None:
        """An angle that points down where the group is open, the title, and at the right what is said aside."""
        del event
        scheme, painter = scheme_of(self.palette()), QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
        bold = QFont(self.font())
        bold.setBold(True)
        metrics, plain = QFontMetricsF(bold), QFontMetricsF(self.font())
        half, middle = metrics.ascent() * 0.26, self.height() / 2
        self._paint_angle(painter, QPointF(half * 2 + 1, middle), half)
        left = 5 * half + 2
        baseline = middle + (metrics.ascent() - metrics.descent()) / 2
        aside = plain.horizontalAdvance(self._aside) + 2 * _AIR if self._aside else 0.0
        room = self.width() - left - aside
        painter.setFont(bold)
        painter.setPen(self.palette().windowText().color())
        painter.drawText(QPointF(left, baseline), metrics.elidedText(self.text(), Qt.TextElideMode.ElideMiddle, room))
        painter.setFont(self.font())
        painter.setPen(scheme.soft)
        painter.drawText(QPointF(self.width() - aside + _AIR, baseline), self._aside)
        painter.setPen(QPen(scheme.hair, 1))
        painter.drawLine(QPointF(0, 0.5), QPointF(self.width(), 0.5))
        if self.hasFocus():
            painter.setPen(QPen(self.palette().highlight().color(), 2))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
        painter.end()

    def _paint_angle(self, painter: QPainter, at: QPointF, half: float) -> None:
        tip, end = QPointF(half / 2, 0), QPointF(-half / 2, half)
        arms = [QPointF(end.x(), -end.y()), tip, end]
        if self.isChecked():
            arms = [QPointF(-arm.y(), arm.x()) for arm in arms]
        painter.setPen(QPen(self.palette().windowText().color(), 1.5))
        painter.drawPolyline(QPolygonF([at + arm for arm in arms]))


def least_width(of: QWidget) -> int:
    """Logical pixels that words and value need side by side in the font of a widget."""
    letter = of.fontMetrics().averageCharWidth()
    frame = of.fontMetrics().height() + 4 * _AIR  # what a box of choices has around its words
    return round((_WORDS + _VALUE) * letter + frame)


class SettingGroupBox(QWidget):
    """The fields of a group, made when it is first opened; entered(key, text) comes out."""

    entered = Signal(str, str)
    waiting = Signal(str)

    def __init__(self, group: SettingGroup) -> None:
        super().__init__()
        self.group = group
        self.header = FoldHeader(group.title)
        self._editors: dict[str, Editor] = {}
        self._labels: dict[str, QLabel] = {}
        self._body = QWidget()
        self._first: QWidget | None = None
        self._layout_of_body = QVBoxLayout(self._body)
        self._layout_of_body.setContentsMargins(0, 0, 0, 0)
        self._layout_of_body.setSpacing(0)
        self._form = QFormLayout()
        self._layout_of_body.addLayout(self._form)
        self._form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.DontWrapRows)
        self._form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        self._form.setContentsMargins(0, 0, 0, round(2 * _AIR))
        self._body.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.header)
        column.addWidget(self._body)
        self._values: Mapping[str, str] = {}
        self._defaults: Mapping[str, str] = {}
        self._pending: dict[str, str] = {}
        self._refusals: dict[str, QLabel] = {}
        self._editable = False
        self._sought = ""
        self.header.toggled.connect(lambda _: self._refresh())

    # What is shown

    def show_values(self, values: Mapping[str, str], defaults: Mapping[str, str], *, editable: bool) -> None:
        """Show values; those that differ from their defaults are told by a dot."""
        self._values, self._defaults, self._editable = values, defaults, editable
        self._pending = {key: choice for key, choice in self._pending.items() if values.get(key) != choice}
        changed = sum(self._is_changed(field.key) for field in self.group.fields)
        self.header.say_aside(f"{changed} changed" if changed else "")
        many = f"{len(self.group.fields)} settings"
        self.header.setAccessibleDescription(f"{many}, {changed} differ from their defaults" if changed else many)
        self._refresh()

    def seek(self, words: str) -> bool:
        """Show only fields in which these words are; whether there are any."""
        self._sought = words.strip()
        found = not self._sought or bool(self.group.finds(self._sought))
        self.setVisible(found)
        self._refresh()
        return found

    def put_first(self, widget: QWidget) -> None:
        """Show a widget above the fields, while the group is open and nothing is looked for."""
        self._first = widget
        self._layout_of_body.insertWidget(0, widget)

    def refuse(self, key: str, sentence: str) -> QLabel:
        """Say beside a field why its value was not taken, until another is entered; where it is said."""
        self._make()
        self.forget_refusals()
        editor = self._editors[key]
        label = self._refusals[key] = QLabel(f"Refused: {sentence}")
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setWordWrap(True)
        label.setContentsMargins(round(_AIR), 0, 0, round(_AIR))
        row = self._form.indexOf(editor)
        place = self._form.getItemPosition(row)
        at = place[0] if isinstance(place, tuple) else -1
        self._form.insertRow(at + 1, label)
        editor.setAccessibleDescription(f"{label.text()}\n{editor.toolTip()}")
        return label

    def forget_refusals(self) -> None:
        """Nothing was refused of late."""
        for key, label in self._refusals.items():
            self._form.removeRow(label)
            self._editors[key].setAccessibleDescription(self._editors[key].toolTip())
        self._refusals.clear()

    @property
    def refused(self) -> str:
        """What is said beside fields that were refused."""
        return "\n".join(label.text() for label in self._refusals.values())

    def editor(self, key: str) -> Editor:
        """The editor of a setting."""
        self._make()
        return self._editors[key]

    def _is_changed(self, key: str) -> bool:
        return self._values.get(key) != self._defaults.get(key, self._values.get(key))

    def _refresh(self) -> None:
        shown = self.header.isChecked() or bool(self._sought)
        if shown:
            self._make()
        if self._editors:
            self._fill()
        if self._first is not None:
            self._first.setVisible(not self._sought)
        self._body.setVisible(shown)

    def _fill(self) -> None:
        values = {**self._values, **self._pending}
        found = self.group.finds(self._sought)
        for field in self.group.fields:
            editor, label = self._editors[field.key], self._labels[field.key]
            editor.setEnabled(self._editable)
            editor.put(values.get(field.key, ""))
            label.setText(f"{field.words} {CHANGED}" if self._is_changed(field.key) else field.words)
            said = self._hint(field)
            for part in (editor, label):
                part.setToolTip(said)
            editor.setAccessibleDescription(said)
            there = field.key in found and (field.only_if is None or field.only_if.met(values))
            self._form.setRowVisible(label, there)
            self._form.setRowVisible(editor, there)

    def _hint(self, field: SettingField) -> str:
        default = self._defaults.get(field.key, "")
        words = next((choice.words for choice in field.choices if choice.value == default and choice.words), default)
        return "\n".join(filter(None, (field.hint, f"by default {words}" if words else "")))

    # Fields

    def _make(self) -> None:
        if self._editors:
            return
        for field in self.group.fields:
            editor = editor_of(field, self.group.title)
            label = QLabel(field.words)
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setWordWrap(True)
            label.setBuddy(editor)
            label.setMinimumWidth(_WORDS * self.fontMetrics().averageCharWidth())
            editor.entered.connect(lambda f=field: self._on_entered(f))
            self._editors[field.key], self._labels[field.key] = editor, label
            if any(len(choice.words or choice.value) > _VALUE + 4 for choice in field.choices):
                self._form.addRow(label)  # what is too long to stand beside its words stands below them
                self._form.addRow(editor)
            else:
                self._form.addRow(label, editor)
        self._put_in_tab_order()
        self._fill()

    def _put_in_tab_order(self) -> None:
        """Fields that are made late come after the title of their group all the same."""
        before: QWidget = self.header
        for editor in self._editors.values():
            for part in editor.parts if isinstance(editor, PartsEditor) else (editor,):
                QWidget.setTabOrder(before, part)
                before = part

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's font: the widths of words are made from it."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            for label in self._labels.values():
                label.setMinimumWidth(_WORDS * self.fontMetrics().averageCharWidth())

    def _on_entered(self, field: SettingField) -> None:
        """Hand on a value that was changed; one that can only be with another setting waits for that."""
        text = self._editors[field.key].text().strip()
        held = self._pending.pop(field.key, None)
        if field.opens is not None and text == field.opens[0] and self._values.get(field.opens[1]) == OFF:
            self._pending[field.key] = text
            self._fill()
            needed = next(other for other in self.group.fields if other.key == field.opens[1])
            self._editors[needed.key].setFocus(Qt.FocusReason.OtherFocusReason)
            self.waiting.emit(f"This takes effect as soon as {needed.label[:1].lower()}{needed.label[1:]} are typed.")
        elif text != self._values.get(field.key, ""):
            self.entered.emit(field.key, text)
        elif held is not None:
            self._fill()
            self.waiting.emit("")
