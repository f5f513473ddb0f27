"""Pictures as files for a journal: PDF with its typeface embedded, and PNG."""

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QSizeF
from PySide6.QtGui import QColor, QImage, QImageWriter, QPageLayout, QPageSize, QPainter, QPdfWriter

from phasemark import __version__
from phasemark.model.errors import BadCall
from phasemark.results.figures.drawing import Drawing
from phasemark.results.figures.svg_text import svg_text
from phasemark.window.pictures.painter import paint_drawing

MM_PER_INCH = 25.4
PNG_DPI = 600
"""Resolution of a PNG (dots an inch): journals ask for 300 for pictures and 600 or more for ones with lines and
words (common practice, no source)."""
_PDF_DPI = 1200


def pdf_bytes(drawing: Drawing) -> bytes:
    """The drawing as a PDF of one page of its own size, lines and text as such; needs a QGuiApplication."""
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    size = QPageSize(QSizeF(drawing.width_mm, drawing.height_mm), QPageSize.Unit.Millimeter, matchPolicy=EXACT)
    writer.setPageLayout(QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0)))
    writer.setResolution(_PDF_DPI)
    writer.setTitle(drawing.title)
    writer.setCreator(f"phasemark {__version__}")
    painter = QPainter(writer)
    paint_drawing(painter, drawing, _PDF_DPI / MM_PER_INCH)
    painter.end()
    buffer.close()
    return bytes(data.data())


EXACT = QPageSize.SizeMatchPolicy.ExactMatch


def picture_image(drawing: Drawing, dpi: float = PNG_DPI) -> QImage:
    """The drawing as an image of so many dots an inch, which the image also says."""
    per_mm = dpi / MM_PER_INCH
    width, height = (max(1, round(side * per_mm)) for side in (drawing.width_mm, drawing.height_mm))
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(QColor(drawing.ground))
    image.setDotsPerMeterX(round(dpi / MM_PER_INCH * 1000))
    image.setDotsPerMeterY(round(dpi / MM_PER_INCH * 1000))
    painter = QPainter(image)
    paint_drawing(painter, drawing, per_mm)
    painter.end()
    return image


def png_bytes(drawing: Drawing, dpi: float = PNG_DPI) -> bytes:
    """The drawing as PNG; needs a QGuiApplication."""
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(b"png")).write(picture_image(drawing, dpi))
    buffer.close()
    return bytes(data.data())


SUFFIXES = (".pdf", ".svg", ".png")
"""The kinds of files a picture is saved as."""


def file_bytes(drawing: Drawing, suffix: str, dpi: float = PNG_DPI) -> bytes:
    """The drawing as a file of a kind, by its suffix in any letter case.

    Raises:
        BadCall: it is none of SUFFIXES.
    """
    match suffix.lower():
        case ".pdf":
            return pdf_bytes(drawing)
        case ".svg":
            return svg_text(drawing).encode("utf-8")
        case ".png":
            return png_bytes(drawing, dpi)
    raise BadCall(f"A picture is saved as {', '.join(SUFFIXES)}, not as {suffix or 'a file without an ending'}.")
