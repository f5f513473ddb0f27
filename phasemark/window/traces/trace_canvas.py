"""The one plot of a trial: a view of seconds and logical pixels, with the items that paint and take the mouse."""

from collections.abc import Callable, Iterable, Sequence

from PySide6.QtCore import QRectF
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QGraphicsItem, QGraphicsView

from phasemark.window.palette import Scheme
from phasemark.window.traces.backdrop_item import BackdropItem
from phasemark.window.traces.boundary_overlay import HALO_PX, BoundaryOverlay
from phasemark.window.traces.canvas_view import CanvasView
from phasemark.window.traces.lane_layout import Band
from phasemark.window.traces.lane_places import LanePlacesItem
from phasemark.window.traces.lane_stretches import LaneStretchesItem
from phasemark.window.traces.marks_drawing import MarksDrawing
from phasemark.window.traces.pointer_drawing import Pointer
from phasemark.window.traces.pointer_overlay import PointerOverlay
from phasemark.window.traces.trace_gestures import TraceGestures
from phasemark.window.traces.trace_item import TraceItem
from phasemark.window.traces.trial_picture import Lane
from phasemark.window.traces.view_span import Span


class TraceCanvas:
    """View and items; what they show is given to them."""

    def __init__(self, scheme: Scheme, font: QFont, gestures: TraceGestures, resized: Callable[[], None]) -> None:
        self._view = CanvasView(scheme.base, resized)
        self.view: QGraphicsView = self._view
        self._backdrop, self._traces, self._overlay = BackdropItem(), TraceItem(scheme), BoundaryOverlay(font)
        self._pointer, self._places = PointerOverlay(font), LanePlacesItem(font)
        self._stretches = LaneStretchesItem(font)
        self._gestures = gestures
        items: tuple[QGraphicsItem, ...] = (
            *(self._backdrop, self._traces, self._stretches, self._places),
            *(self._overlay, self._pointer, gestures),
        )
        for height, item in enumerate(items):
            self._view.add(item, height)
        self._span = Span(0.0, 1.0)

    @property
    def width(self) -> int:
        """Logical pixels of time axis."""
        return self.view.viewport().width()

    @property
    def height(self) -> int:
        """Logical pixels from the top of the header to the foot of the last lane."""
        return self.view.viewport().height()

    def set_span(self, span: Span) -> None:
        """See these seconds."""
        self._span = span
        px_per_s = max(self.width, 1) / span.width_s
        self._view.place(-span.begin_s * px_per_s, px_per_s)

    def draw(self, lanes: Sequence[Lane], bands: Sequence[Band], drawing: MarksDrawing | None, all_of: Span) -> None:
        """Draw everything anew; all_of is the time that can be seen at all."""
        rect = QRectF(all_of.begin_s, 0, all_of.width_s, max(self.height, 1))
        self._traces.set_lanes(lanes, bands, rect)
        self._gestures.set_rect(rect)
        for item in (self._backdrop, self._stretches, self._places, self._overlay):
            item.set_drawing(drawing, rect)
            item.update()
        self._pointer.set_drawing(drawing, rect)

    def draw_marks(self, drawing: MarksDrawing, stretches: Iterable[tuple[float, float]] | None) -> None:
        """Draw the marks anew, only over some stretches of time (s); None is everywhere."""
        room = HALO_PX / max(self.width, 1) * self._span.width_s
        rects = [QRectF(b - room, 0, e - b + 2 * room, drawing.height) for b, e in stretches or ()]
        for item in (self._backdrop, self._stretches, self._places, self._overlay):
            item.set_drawing(drawing, item.boundingRect())
            if stretches is None:
                item.update()
            for rect in rects:
                item.update(rect)

    def draw_pointer(self, pointer: Pointer) -> None:
        """Draw another pointer, only where it differs from the one before."""
        px_per_s = self.width / self._span.width_s
        for rect in self._pointer.set_pointer(pointer, -self._span.begin_s * px_per_s, px_per_s):
            self.view.viewport().update(rect)

    def set_look(self, scheme: Scheme, font: QFont) -> None:
        """Other colours, another font."""
        self._view.set_base(scheme.base)
        self._traces.set_scheme(scheme)
        self._overlay.set_font(font)
        self._places.set_font(font)
        self._stretches.set_font(font)
        self._pointer.set_font(font)
