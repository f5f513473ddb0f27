"""A widget that shows a picture: as high as the picture is at its width, in the system's colours and text size."""

from math import ceil

from PySide6.QtCore import QEvent, QSize
from PySide6.QtGui import QFontInfo, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from phasemark.results.figures.description import Figure
from phasemark.results.figures.drawing import Drawing
from phasemark.results.figures.layout import LABEL_PT, SINGLE_MM, laid_out
from phasemark.results.figures.looks import Look
from phasemark.results.figures.text_width import MM_PER_PT
from phasemark.window.pictures.painter import paint_drawing
from phasemark.window.pictures.picture_look import look_of

_LOOKS_CHANGE = (QEvent.Type.PaletteChange, QEvent.Type.FontChange, QEvent.Type.StyleChange)


class PictureView(QWidget):
    """Shows a figure, or nothing. Labels have the size of the widget's text; put it into a scroll area.

    What is painted is the layout that files get, at another scale: a wider widget has room for more columns of blocks.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._figure: Figure | None = None
        self._drawn: tuple[Figure, float, Look, Drawing] | None = None
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    @property
    def figure(self) -> Figure | None:
        """What is shown."""
        return self._figure

    def show_figure(self, figure: Figure | None) -> None:
        """Show another figure, or none."""
        self._figure = figure
        self.setAccessibleName("" if figure is None else figure.title)
        self.setAccessibleDescription("" if figure is None else figure.summary)
        self._fit()

    def units_per_mm(self) -> float:
        """Pixels to a millimetre of the picture: its labels are as large as the widget's text."""
        return QFontInfo(self.font()).pixelSize() / (LABEL_PT * MM_PER_PT)

    def drawing(self, width: int = 0) -> Drawing | None:
        """The picture as it is laid out for a width (pixels; 0: that of the widget)."""
        if self._figure is None:
            return None
        width_mm, look = max(width or self.width(), self.minimumWidth()) / self.units_per_mm(), look_of(self.palette())
        held = self._drawn
        if held is None or held[0] is not self._figure or held[1:3] != (width_mm, look):
            held = self._drawn = (self._figure, width_mm, look, laid_out(self._figure, width_mm, look))
        return held[3]

    def _fit(self) -> None:
        self.setMinimumWidth(0 if self._figure is None else ceil(SINGLE_MM * self.units_per_mm()))
        self.setMinimumHeight(self.heightForWidth(self.width()))
        self.updateGeometry()
        self.update()

    def hasHeightForWidth(self) -> bool:
        """The height follows from the width."""
        return True

    def heightForWidth(self, width: int) -> int:
        """How high (pixels) the picture is at a width."""
        drawing = self.drawing(width)
        return 0 if drawing is None else ceil(drawing.height_mm * self.units_per_mm())

    def sizeHint(self) -> QSize:
        """Least width, and the height for it."""
        width = max(self.minimumWidth(), self.width())
        return QSize(width, self.heightForWidth(width))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out anew for the width."""
        if event.size().width() != event.oldSize().width():
            self.setMinimumHeight(self.heightForWidth(event.size().width()))
        super().resizeEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's colours and text size."""
        if event.type() in _LOOKS_CHANGE:
            self._fit()
        super().changeEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the picture from the top left."""
        drawing = self.drawing()
        if drawing is None:
            return
        with QPainter(self) as painter:
            painter.fillRect(event.rect(), self.palette().base())
            paint_drawing(painter, drawing, self.units_per_mm())
