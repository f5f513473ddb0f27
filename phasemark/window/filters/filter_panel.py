"""Above the fields of filters: what they do at the rate of the trial in view, and what they took out of it."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from phasemark.model.study import Study, Trial
from phasemark.session.filter_chain import ChannelRemoved, chain_of, takes_out
from phasemark.window.filters.response_picture import ResponsePicture, chain_words
from phasemark.window.visible_edges import keep_edge_seen

_WORKING = "What notch and template take out of the trial in view is being worked out …"
_OWN = "This muscle has filters of its own, in every trial."
_SHARED = "This muscle has the filters of all muscles; a change here gives it its own."


def _words() -> QLabel:
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
    return label


class FilterPanel(QWidget):
    """The filters of a muscle, or ('') of all; shared() gives a muscle the filters of all muscles again."""

    shared = Signal(str)

    def __init__(self, muscle: str) -> None:
        super().__init__()
        self.muscle = muscle
        self.picture, self.linear = ResponsePicture(), QCheckBox("linear frequencies")
        self._said, self._removed, self._whose = _words(), _words(), _words()
        self.share = QPushButton("Use the filters of all muscles")
        self.share.setAccessibleName(f"Use the filters of all muscles for {muscle}")
        of = f" of {muscle}" if muscle else " of all muscles"
        self.picture.setAccessibleName(f"Magnitude response of the filters{of}")
        self.linear.setAccessibleName(f"Linear frequencies in the response{of}")
        keep_edge_seen(self.linear)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.linear)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 4, 0, 4)
        column.setSpacing(4)
        column.addWidget(self.picture)
        column.addLayout(row)
        for part in (self._said, self._removed, self._whose, self.share):
            column.addWidget(part)
        self.linear.toggled.connect(self.picture.set_linear)
        self.share.clicked.connect(lambda: self.shared.emit(self.muscle))

    @property
    def said(self) -> str:
        """What is said of the filters and of what they took out."""
        return "\n".join(part.text() for part in (self._said, self._removed) if not part.isHidden())

    def show_filters(self, study: Study, trial: Trial | None, *, editable: bool) -> None:
        """Show the response, and whose filters they are."""
        chain = chain_of(study, trial, self.muscle)
        self.picture.show_chain(chain)
        self._said.setText(chain_words(chain))
        self._said.setVisible(chain is not None and not chain.refused)
        own = any(entry.muscle == self.muscle for entry in study.settings.muscle_filters)
        self._whose.setVisible(bool(self.muscle))
        self._whose.setText(_OWN if own else _SHARED)
        self.share.setVisible(own)
        self.share.setEnabled(editable)

    def show_removed(self, study: Study, trial: Trial | None, removed: Sequence[ChannelRemoved] | None) -> None:
        """Say what was taken out of the trial in view; None while it is being worked out."""
        own = {entry.muscle for entry in study.settings.muscle_filters}

        def is_mine(muscle: str) -> bool:
            return muscle == self.muscle if self.muscle else muscle not in own

        mine = [] if trial is None else [channel for channel in trial.emg if is_mine(channel.muscle)]
        there = takes_out(study.settings, mine)
        self._removed.setVisible(there)
        if not there:
            self._removed.clear()
        elif removed is None:
            self._removed.setText(_WORKING)
        else:
            parts = [one for one in removed if is_mine(one.channel.muscle)]
            told = [one for one in parts if one.sentences()]
            self._removed.setText("\n".join(f"{one.channel.label}: {one.short()}." for one in told))
            whole = "\n".join(f"{one.channel.label}: {' '.join(one.sentences())}" for one in told)
            self._removed.setToolTip(whole)
            self._removed.setAccessibleDescription(whole)
