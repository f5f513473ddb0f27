"""Settings of the study beside the trial in view: a value takes effect there as soon as its field is left."""

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QEvent, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from phasemark.model.study import Study, Trial
from phasemark.session.filter_chain import ChannelRemoved
from phasemark.window.elided_label import ElidedLabel
from phasemark.window.filters.filter_panel import FilterPanel
from phasemark.window.setting_catalogue import CATALOGUE, trace_units
from phasemark.window.setting_editors import Editor
from phasemark.window.setting_fields import SettingGroup, setting_defaults, setting_groups, setting_values
from phasemark.window.setting_group_box import SettingGroupBox, least_width
from phasemark.window.visible_edges import keep_edge_seen

_NOTHING_FOUND = "No setting has these words."


class SettingsPage(QFrame):
    """All settings in groups that fold. A study goes in; changed(key, text) comes out, and refused values go back.

    Every change is an edit of its own, so that its effect is seen at once and undo takes it back.
    """

    changed = Signal(str, str)
    markAgain = Signal()
    shared = Signal(str)  # a muscle that is to have the filters of all muscles again
    filteredWanted = Signal(bool)
    done = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Settings of the study")
        self._groups: tuple[SettingGroup, ...] = ()
        self._boxes: tuple[SettingGroupBox, ...] = ()
        self._open: set[str] = set()
        self._values: Mapping[str, str] = {}
        self._panels: tuple[FilterPanel, ...] = ()
        self._study: Study | None = None
        self._trial: Trial | None = None
        self._removed: Sequence[ChannelRemoved] | None = None
        self._editable = False
        self.filtered = QCheckBox("See the filtered signal in the traces")
        self.filtered.setAccessibleName("See the filtered signal in the traces")
        self.filtered.clicked.connect(self.filteredWanted)
        keep_edge_seen(self.filtered)
        self._said = QLabel()
        self._said.setWordWrap(True)
        self._said.setTextFormat(Qt.TextFormat.PlainText)
        self.again = QPushButton("Mark all trials again")
        self.again.clicked.connect(self.markAgain)
        self.sought = QLineEdit()
        self.sought.setPlaceholderText("Find a setting")
        self.sought.setAccessibleName("Find a setting")
        self.sought.setClearButtonEnabled(True)
        self.sought.textChanged.connect(self._seek)
        keep_edge_seen(self.sought)
        self._nothing = QLabel(_NOTHING_FOUND)
        self._nothing.setWordWrap(True)
        self._nothing.hide()
        self._area = QScrollArea()
        self._area.setWidgetResizable(True)
        self._area.setFrameShape(QScrollArea.Shape.NoFrame)
        self._area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        column = QVBoxLayout(self)
        column.addLayout(self._head())
        for part in (self._said, self.again, self.filtered, self.sought, self._nothing):
            column.addWidget(part)
        column.addWidget(self._area, 1)
        self.say("")

    def _head(self) -> QHBoxLayout:
        """The title, and the way back to the grid."""
        title = ElidedLabel("Settings")
        font = QFont(title.font())
        font.setBold(True)
        title.setFont(font)
        self.close_button = QPushButton("Back to the &grid")
        self.close_button.setAccessibleName("Put the settings away")
        self.close_button.clicked.connect(self.done)
        head = QHBoxLayout()
        head.addWidget(title, 1)
        head.addWidget(self.close_button)
        return head

    def take_focus(self) -> None:
        """Put the keyboard where a setting is looked for; from there Tab goes from group to group."""
        self.sought.setFocus(Qt.FocusReason.OtherFocusReason)

    def sizeHint(self) -> QSize:
        """As wide as its labels and fields need, so that nothing is cut off at the side."""
        return QSize(self.minimumSizeHint().width(), super().sizeHint().height())

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's font: the width is made from it."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange and self._boxes:
            self._fit()

    def _fit(self) -> None:
        """Ask for width; only once there are settings, so that an empty page takes none from the grid."""
        bar = self._area.verticalScrollBar().sizeHint().width()
        self._area.setMinimumWidth(least_width(self) + bar)

    # What is said

    def say(self, sentence: str, *, mark_again: bool = False) -> None:
        """Say why a value was refused, or that marks are older than the settings."""
        self._said.setText(sentence)
        self._said.setVisible(bool(sentence))
        self.again.setVisible(mark_again)

    @property
    def said(self) -> str:
        """What is said above the fields or beside a refused one, '' while nothing is."""
        refused = [box.refused for box in self._boxes if box.refused]
        return "\n".join([*([] if self._said.isHidden() else [self._said.text()]), *refused])

    def refuse(self, key: str, sentence: str) -> None:
        """Say beside the field of a setting why its value was not taken."""
        said = self._box(key).refuse(key, sentence)
        self._area.ensureWidgetVisible(self.field(key))
        QTimer.singleShot(0, said, lambda: self._area.ensureWidgetVisible(said))  # once it has its place

    # What is shown

    def show_study(self, study: Study | None, *, editable: bool) -> None:
        """Show the settings of a study; fields that did not change keep focus and cursor."""
        self._values = {} if study is None else setting_values(study)
        groups = () if study is None else setting_groups(self._values, CATALOGUE, trace_units(study))
        defaults = {} if study is None else setting_defaults(study)
        if groups != self._groups:
            self._groups = groups
            self._build()
        for box in self._boxes:
            box.show_values(self._values, defaults, editable=editable)
        self._study, self._editable = study, editable
        self._show_filters()

    def show_trial(self, trial: Trial | None, removed: Sequence[ChannelRemoved] | None) -> None:
        """The trial in view, and what notch and template took out of it (None: this is on its way)."""
        self._trial, self._removed = trial, removed
        self._show_filters()

    def _show_filters(self) -> None:
        """Draw what filters do, in those groups that are open."""
        study = self._study
        for panel in self._panels if study is not None else ():
            if panel.isVisibleTo(self) and study is not None:
                panel.show_filters(study, self._trial, editable=self._editable)
                panel.show_removed(study, self._trial, self._removed)

    def panel(self, muscle: str = "") -> FilterPanel:
        """The picture of the filters of a muscle, or of all."""
        return next(panel for panel in self._panels if panel.muscle == muscle)

    def _build(self) -> None:
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 8, 0)
        column.setSpacing(0)
        self._boxes = tuple(SettingGroupBox(group) for group in self._groups)
        for box in self._boxes:
            box.header.setChecked(box.group.title in self._open)
            box.header.toggled.connect(lambda on, title=box.group.title: self._on_folded(title, on))
            box.entered.connect(self._on_entered)
            box.waiting.connect(self.say)
            column.addWidget(box)
        self._panels = tuple(
            self._panel(box, muscle) for box in self._boxes if (muscle := _filtered_muscle(box.group)) is not None
        )
        column.addStretch(1)
        self._area.setWidget(content)
        self._fit()
        self._seek(self.sought.text())

    def _panel(self, box: SettingGroupBox, muscle: str) -> FilterPanel:
        panel = FilterPanel(muscle)
        panel.shared.connect(self.shared)
        box.put_first(panel)
        return panel

    def _on_folded(self, title: str, on: bool) -> None:
        (self._open.add if on else self._open.discard)(title)
        self._show_filters()

    def _seek(self, words: str) -> None:
        found = [box.seek(words) for box in self._boxes]
        self._nothing.setVisible(bool(self._boxes) and not any(found))

    def _box(self, key: str) -> SettingGroupBox:
        return next(box for box in self._boxes if any(field.key == key for field in box.group.fields))

    def field(self, key: str) -> Editor:
        """The field of a setting."""
        return self._box(key).editor(key)

    def show_field(self, key: str) -> Editor:
        """Open the group of a setting and put the keyboard into its field."""
        self.sought.clear()
        box, editor = self._box(key), self.field(key)
        box.header.setChecked(True)
        editor.setFocus(Qt.FocusReason.OtherFocusReason)
        self._area.ensureWidgetVisible(editor)
        return editor

    def _on_entered(self, key: str, text: str) -> None:
        """Hand on a value that was changed; where it is refused the study is shown again with the old one."""
        self.say("")
        for box in self._boxes:
            box.forget_refusals()
        self.changed.emit(key, text)


def _filtered_muscle(group: SettingGroup) -> str | None:
    """Whose filters a group has: a muscle's, or ('') those of all; None where it has none."""
    key = group.fields[0].key
    if key.startswith("filter["):
        return key[len("filter[") : key.rindex("]")]
    return "" if key.startswith("filter.") else None
