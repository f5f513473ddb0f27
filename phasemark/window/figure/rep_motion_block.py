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
        """A table where there is room for one, its units below its titles where it is narrow, else lines."""
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
        heads, soft = _heads(motions, unit), scheme_of(self.palette()).soft.name()
        cells = [_cells(motion, len(heads), moved=_moved(motions)) for motion in motions]
        beside = [[f"{name} ({of})" if of else name for name, of in heads]]
        below = [[name for name, _ in heads], [of for _, of in heads]]
        fitting = (titles for titles in (beside, below) if _width([*titles, *cells], metrics) <= self.width())
        titles = next(fitting, None)
        if titles is not None:
            text = _table(titles, cells, soft)
        else:
            text = "<br>".join(escape(motion_words(motion, unit)) for motion in motions)
        if text != self.text():
            self.setText(text)


def _moved(motions: tuple[PhaseMotion, ...]) -> bool:
    return any(isfinite(motion.motion.range_of_motion) for motion in motions)


def _heads(motions: tuple[PhaseMotion, ...], unit: str) -> list[tuple[str, str]]:
    """Title and unit of each column."""
    speed = f"{unit}/s" if unit else "1/s"
    planned = any(motion.prescribed_s is not None for motion in motions)
    heads = [("", ""), (f"time{', planned' if planned else ''}", "s")]
    heads += [("range", unit), ("mean", speed), ("peak", speed)] if _moved(motions) else []
    heads += [("sticking", "s")] if any(motion.sticking for motion in motions) else []
    return heads


def _width(rows: list[list[str]], metrics: QFontMetricsF) -> float:
    """Logical px that a table of these rows needs."""
    return sum(max(map(metrics.horizontalAdvance, column)) + _CELL_PX for column in zip(*rows, strict=True))


def _table(titles: list[list[str]], cells: list[list[str]], soft: str) -> str:
    lines = [*(_line(row, f" style='color:{soft}'") for row in titles), *(_line(row) for row in cells)]
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
