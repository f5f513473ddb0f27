"""How the rep in hand moved, below its figure: time of each phase and what was planned, range, speeds, sticking."""

from html import escape
from math import isfinite

from PySide6.QtCore import QElapsedTimer, QEvent, Qt
from PySide6.QtGui import QFontMetricsF, QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy

from phasemark.session.rep_figure import PhaseMotion, RepFigure
from phasemark.window.figure.figure_words import motion_number, motion_words
from phasemark.window.palette import scheme_of

_EVERY_MS = 100
_CELL_PX = 8.0


class RepMotionBlock(QLabel):
    """A small table in words; empty and out of the way where there is nothing to say."""

    def __init__(self) -> None:
        super().__init__()
        self._since = QElapsedTimer()
        self._shown: tuple[tuple[PhaseMotion, ...], str] | None = None
        self.setTextFormat(Qt.TextFormat.RichText)
        self.setWordWrap(True)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        self.setAccessibleName("Movement of the repetition in hand")
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.hide()

    def show_motion(self, figure: RepFigure | None, *, moving: bool = False) -> None:
        """Show how the phases of a figure went; None, or a figure without phases, takes the block away.

        While a boundary is moving the block follows it ten times a second: laying out a text takes its time.
        """
        if moving and self._since.isValid() and self._since.elapsed() < _EVERY_MS:
            return
        self._since.start()
        if figure is None or not figure.motion:
            self.hide()
            return
        unit = "" if figure.axis.of_time else figure.axis.unit
        words = ".\n".join(motion_words(motion, unit) for motion in figure.motion) + "."
        self._shown = (figure.motion, unit)
        self._write()
        self.setAccessibleDescription(words)
        self.setToolTip(words)
        self.show()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """A table where there is room for one, else lines."""
        super().resizeEvent(event)
        self._write()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's font and colours."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.PaletteChange):
            self._write()

    def _write(self) -> None:
        if self._shown is None:
            return
        (motions, unit), metrics = self._shown, QFontMetricsF(self.font())
        rows = _rows(motions, unit)
        widths = [max(metrics.horizontalAdvance(row[k]) for row in rows) + _CELL_PX for k in range(len(rows[0]))]
        if sum(widths) <= self.width():
            text = _table(rows, scheme_of(self.palette()).soft.name())
        else:
            text = "<br>".join(escape(motion_words(motion, unit)) for motion in motions)
        if text != self.text():
            self.setText(text)


def _rows(motions: tuple[PhaseMotion, ...], unit: str) -> list[list[str]]:
    """Titles, then the cells of each phase."""
    speed = f"{unit}/s" if unit else "1/s"
    planned = any(motion.prescribed_s is not None for motion in motions)
    moved = any(isfinite(motion.motion.range_of_motion) for motion in motions)
    heads = ["", f"time{', planned' if planned else ''} (s)"]
    heads += [f"range ({unit})" if unit else "range", f"mean ({speed})", f"peak ({speed})"] if moved else []
    heads += ["sticking (s)"] if any(motion.sticking for motion in motions) else []
    return [heads, *(_cells(motion, len(heads), moved=moved) for motion in motions)]


def _table(rows: list[list[str]], soft: str) -> str:
    head, *others = rows
    lines = [_line(head, f" style='color:{soft}'"), *(_line(row) for row in others)]
    made = "".join(f"<tr>{line}</tr>" for line in lines)
    return f"<table cellspacing='0' cellpadding='2' width='100%'>{made}</table>"


def _line(row: list[str], look: str = "") -> str:
    """The cells of a row: the name of the phase at the left, numbers and their titles at the right of their column."""
    name, *numbers = (escape(cell) for cell in row)
    return f"<td{look}>{name}</td>" + "".join(f"<td align='right'{look}>{number}</td>" for number in numbers)


def _cells(of: PhaseMotion, count: int, *, moved: bool) -> list[str]:
    planned = "" if of.prescribed_s is None else f" ({of.prescribed_s:g})"
    cells = [of.name, f"{of.duration_s:.2f}{planned}"]
    motion = of.motion
    if moved:
        cells += [motion_number(value) for value in (motion.range_of_motion, motion.mean_speed, motion.peak_speed)]
    if of.sticking is not None:
        cells.append(f"{motion.sticking_begin_s:.2f}–{motion.sticking_end_s:.2f}")
    return cells + [""] * (count - len(cells))
