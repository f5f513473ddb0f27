"""The figure of the rep in hand, painted: a frozen figure goes in, what is pointed at and picked comes out.

    view = RepFigureView()
    view.set_figure(figure)              draws a session.rep_figure.RepFigure; None empties it, with words in its place
    view.set_axis(top, bottom, low, high)  logical px of this widget, and the position (trace's unit) at bottom and at
                                         top: what TrialPlot.movement_area() says, mapped to this widget
    view.set_measure(Measure.RMS)        which amplitude is read
    view.set_unit(Unit.PERCENT)          in percent of each muscle's reference, or in mV
    view.room_above, view.room_below     logical px that the figure needs above and below its axis

Signals:

    hovered(text)            what is under the cursor in words, empty for nothing
    pointed(times)           tuple of the times (s) at which the rep's phases are at the position under the cursor
    musclePicked(place)      the user went to another muscle (its place in the trial's EMG channels)
    oneScaleChanged(bool)    the user chose another kind of scale
"""

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QCheckBox, QScrollBar, QToolTip, QWidget

from phasemark.session.rep_figure import Measure, RepFigure, Unit
from phasemark.window.figure import figure_layout as places
from phasemark.window.figure.figure_columns import Look
from phasemark.window.figure.figure_fit import FigureFit, band_of
from phasemark.window.figure.figure_frame import bold
from phasemark.window.figure.figure_layout import AIR, FigureLayout
from phasemark.window.figure.figure_painting import Around, paint_figure
from phasemark.window.figure.figure_picking import beside, value_at
from phasemark.window.figure.figure_words import figure_words, muscle_note, notes, pointed_words, reading_sentences
from phasemark.window.palette import scheme_of
from phasemark.window.traces.lane_layout import Band
from phasemark.window.visible_edges import keep_edge_seen

NO_REP = "Choose a repetition in the traces to see it here by height."
MEASURE_FIRST = "References are known once the study has been measured (Ctrl+R) with the settings as they are."
NO_EMG = "This recording has no EMG channels to draw against position."
_LOOKS = (QEvent.Type.PaletteChange, QEvent.Type.FontChange, QEvent.Type.StyleChange)
_LEAST_ROWS = 9
_SCROLL_PX = 120.0


class RepFigureView(QWidget):
    """The rep in hand on its height axis; the module's first lines say what goes in and what comes out."""

    hovered = Signal(str)
    pointed = Signal(object)
    musclePicked = Signal(int)
    oneScaleChanged = Signal(bool)

    _ready = False

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Repetition in hand on its height axis")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setBackgroundRole(QPalette.ColorRole.Base)
        self.setAutoFillBackground(True)
        self._figure: RepFigure | None = None
        self._message = NO_REP
        self._axis: Band | None = None
        self._measure, self._unit = Measure.RMS, Unit.MILLIVOLTS
        self._picked: tuple[str, str] | None = None
        self._current = self._first = 0
        self._pointer: tuple[int, float] | None = None
        self._wheel = 0.0
        self._layout: FigureLayout | None = None
        self._scale = QCheckBox("one scale", self)
        self._scale.setAccessibleName("One scale for all muscles")
        self._scale.setToolTip("Draw all muscles on one scale, or each on its own")
        keep_edge_seen(self._scale)
        self._scale.toggled.connect(self._on_scale)
        self._scroll = QScrollBar(Qt.Orientation.Horizontal, self)
        self._scroll.setAccessibleName("Muscles of the figure")
        self._scroll.valueChanged.connect(self._on_scrolled)
        self._ready = True
        self.set_figure(None)

    # What goes in

    def set_figure(self, figure: RepFigure | None, *, message: str = NO_REP) -> None:
        """Draw another figure, or the message where there is none; called at each move of a drag."""
        self._figure = figure
        self._message = NO_EMG if figure is not None and not figure.muscles else message
        count = 0 if figure is None else len(figure.muscles)
        self._current = min(self._current, max(count - 1, 0))
        self._lay_out()
        self._describe()

    def set_axis(self, top: float, bottom: float, low: float, high: float) -> None:
        """Lay the vertical axis between two heights of this widget (px): low is at the bottom, high at the top."""
        axis = Band(top, bottom, low, high) if bottom > top and low != high else None
        if axis != self._axis:
            self._axis = axis
            self._lay_out()

    def clear_axis(self) -> None:
        """Stand alone: the axis fills the height there is, over the rep's own range."""
        self._axis = None
        self._lay_out()

    def set_measure(self, measure: Measure) -> None:
        """Read RMS or mean amplitude."""
        self._measure = measure
        self._describe()
        self.update()

    def set_unit(self, unit: Unit) -> None:
        """Read in mV, or in percent of the reference; a muscle without one stays in mV."""
        self._unit = unit
        self._lay_out()
        self._describe()

    def _unit_of(self, place: int) -> Unit:
        assert self._figure is not None
        return places.unit_of(self._figure.muscles[place], self._unit)

    # What is shown now

    @property
    def figure(self) -> RepFigure | None:
        """The figure that is drawn."""
        return self._figure

    @property
    def one_scale(self) -> bool:
        """Whether all muscles share one scale."""
        return self._scale.isChecked()

    @property
    def current_muscle(self) -> int:
        """Place of the muscle that the keyboard is at."""
        return self._current

    @property
    def layout_now(self) -> FigureLayout | None:
        """Where everything lies, None where nothing is drawn."""
        return self._layout

    @property
    def room_above(self) -> float:
        """Logical px that title, notes and names need above the axis."""
        return places.room_above(QFontMetricsF(bold(self.font())))

    @property
    def room_below(self) -> float:
        """Logical px that scales, values of whole phases and the bar to more muscles need below the axis."""
        return places.room_below(QFontMetricsF(self.font())) + self._scroll.sizeHint().height()

    def minimumSizeHint(self) -> QSize:
        """One muscle beside its axis, and some rows of height."""
        metrics = QFontMetricsF(self.font())
        wide = metrics.horizontalAdvance("888.8") + 4 * AIR + places.usual_column(metrics)
        return QSize(round(wide), round(self.room_above + _LEAST_ROWS * metrics.height() + self.room_below))

    def sizeHint(self) -> QSize:
        """Four muscles beside their axis."""
        metrics = QFontMetricsF(self.font())
        wide = 8 * metrics.averageCharWidth() + 4 * (places.usual_column(metrics) + places.COLUMN_GAP)
        return QSize(round(wide), round(self.room_above + 16 * metrics.height() + self.room_below))

    # Layout

    def _lay_out(self) -> None:
        figure = self._figure
        shown = figure is not None and bool(figure.muscles)
        self._scale.setVisible(shown)
        if figure is None or not shown:
            self._layout = None
            self._scroll.hide()
            self.update()
            return
        fit = FigureFit(figure, self._unit, self.font(), self.width(), one_scale=self.one_scale)
        self._set_scroll(len(figure.muscles), fit.count)
        band = band_of(figure, self._axis, self.room_above, self.height() - self.room_below)
        self._layout = fit.layout(self._first, band)
        self._place_controls()
        self.update()

    def _set_scroll(self, count: int, fit: int) -> None:
        most = max(count - fit, 0)
        self._first = min(self._first, most)
        self._scroll.blockSignals(True)
        self._scroll.setRange(0, most)
        self._scroll.setPageStep(fit)
        self._scroll.setValue(self._first)
        self._scroll.blockSignals(False)
        self._scroll.setVisible(most > 0)

    def _place_controls(self) -> None:
        layout = self._layout
        if layout is None:
            return
        hint = self._scale.sizeHint()
        top = layout.rows.title + (layout.row - hint.height()) / 2
        self._scale.setGeometry(
            round(self.width() - hint.width() - AIR), max(round(top), 0), hint.width(), hint.height()
        )
        bar = self._scroll.sizeHint().height()
        y = min(layout.rows.whole_error + 2 * layout.small + AIR, self.height() - bar)
        self._scroll.setGeometry(round(layout.gutter), round(y), round(self.width() - layout.gutter - AIR), bar)

    def _on_scale(self, on: bool) -> None:
        self._lay_out()
        self.oneScaleChanged.emit(on)

    def _on_scrolled(self, first: int) -> None:
        self._first = first
        self._lay_out()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out in the new size."""
        super().resizeEvent(event)
        self._lay_out()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's colours and font."""
        super().changeEvent(event)
        if self._ready and event.type() in _LOOKS:
            self._lay_out()

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the figure, or what there is to say in its place."""
        painter = QPainter(self)
        layout, figure = self._layout, self._figure
        if layout is None or figure is None:
            painter.setPen(scheme_of(self.palette()).soft)
            box = QRectF(self.rect()).adjusted(3 * AIR, 3 * AIR, -3 * AIR, -3 * AIR)
            painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap), self._message)
        else:
            at = self._current if self.hasFocus() else None
            picked = None if self._picked is None or at is None else (at, *self._picked)
            look = Look(figure, layout, scheme_of(self.palette()), self.font(), self._measure, picked)
            paint_figure(painter, look, Around(self.width(), self._title_room, self._unit, at, self._pointer))
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Highlight), 2))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
        painter.end()

    @property
    def _title_room(self) -> float:
        return self._scale.x() - 2 * AIR

    # What the mouse does

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Read position, times and envelope under the cursor."""
        layout, at = self._layout, event.position()
        column = None if layout is None else layout.column_at(at.x())
        if layout is None or column is None or not layout.band.top <= at.y() <= layout.band.bottom:
            self._point(None)
        else:
            self._point((column.muscle, layout.band.value(at.y())))

    def leaveEvent(self, event: QEvent) -> None:
        """Nothing is under the cursor."""
        super().leaveEvent(event)
        self._point(None)

    def _point(self, at: tuple[int, float] | None) -> None:
        if at == self._pointer or self._figure is None:
            return
        self._pointer = at
        self.update()
        if at is None:
            self.hovered.emit("")
            self.pointed.emit(())
            return
        place, position = at
        self.hovered.emit(pointed_words(self._figure, place, position))
        times = (side.curve.time_at(position) for side in self._figure.muscles[place].sides)
        self.pointed.emit(tuple(time for time in times if time is not None))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go to the muscle under the cursor."""
        column = None if self._layout is None else self._layout.column_at(event.position().x())
        if column is not None and event.button() == Qt.MouseButton.LeftButton:
            self._go_to(column.muscle)
        self.setFocus(Qt.FocusReason.MouseFocusReason)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """See the next or previous muscles."""
        if self._scroll.maximum() == 0:
            event.ignore()
            return
        turned = event.angleDelta()
        self._wheel -= turned.x() or turned.y()
        steps = int(self._wheel / _SCROLL_PX)
        self._wheel -= steps * _SCROLL_PX
        self._scroll.setValue(self._scroll.value() + steps)
        event.accept()

    # What the keyboard does

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Left and right go from muscle to muscle, Home and End to either end; up and down from value to value."""
        count = 0 if self._figure is None else len(self._figure.muscles)
        way = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()))
        if way is not None and count:
            self._step_value(way)
            return
        to = {
            Qt.Key.Key_Left: self._current - 1,
            Qt.Key.Key_Right: self._current + 1,
            Qt.Key.Key_Home: 0,
            Qt.Key.Key_End: count - 1,
        }.get(Qt.Key(event.key()))
        if to is None or count == 0:
            super().keyPressEvent(event)
            return
        self._go_to(min(max(to, 0), count - 1))

    def _step_value(self, way: int) -> None:
        """Go to the next value of the current muscle, or the one before, and say it with what is known of it."""
        assert self._figure is not None
        self._picked = beside(self._figure.muscles[self._current], self._picked, way)
        self._say_picked()
        self.update()

    def _say_picked(self) -> None:
        if self._picked is not None and self._figure is not None:
            words = " ".join(self._sentences((self._current, *self._picked)))
            self.setAccessibleDescription(words)
            self.hovered.emit(words)

    def _sentences(self, at: tuple[int, str, str]) -> tuple[str, ...]:
        assert self._figure is not None
        return reading_sentences(self._figure, at, self._measure, self._unit_of(at[0]))

    def event(self, event: QEvent) -> bool:
        """What is known of the value under the mouse, as a hint."""
        if isinstance(event, QHelpEvent) and event.type() is QEvent.Type.ToolTip:
            layout, figure = self._layout, self._figure
            found = None if layout is None or figure is None else value_at(layout, figure, QPointF(event.pos()))
            if found is not None:
                QToolTip.showText(event.globalPos(), "\n".join(self._sentences(found)), self)
                return True
        return super().event(event)

    def _go_to(self, place: int) -> None:
        if place != self._current:
            self._current, self._picked = place, None
            self._bring_into_view()
            self._describe()
            self.musclePicked.emit(place)
        self.update()

    def _bring_into_view(self) -> None:
        fit = self._scroll.pageStep()
        if self._scroll.maximum() and not self._first <= self._current < self._first + fit:
            self._scroll.setValue(self._current if self._current < self._first else self._current - fit + 1)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show where the keys go."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """The keys go elsewhere."""
        super().focusOutEvent(event)
        self.update()

    def _describe(self) -> None:
        """The repetition and the current muscle's values in words, for a screen reader."""
        figure = self._figure
        if figure is None or not figure.muscles:
            self.setAccessibleDescription(self._message)
            self.setToolTip("")
            return
        unit = self._unit_of(self._current)
        self.setAccessibleDescription(figure_words(figure, self._current, self._measure, unit))
        asides = ((m.label, muscle_note(figure, m, self._measure, self._unit)) for m in figure.muscles)
        hints = [*notes(figure), *(f"{label}: {aside}" for label, aside in asides if aside)]
        if figure.scaled and any(places.unit_of(m, self._unit) is not self._unit for m in figure.muscles):
            hints.append(MEASURE_FIRST)
        self.setToolTip("\n".join(hints))
