"""Figures of a rep made by hand, with curves that are easy to find again among the pixels."""

from fractions import Fraction

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QApplication

from phasemark.model.marks import LOWERING, RAISING, Origin
from phasemark.session.figure_curves import Curve
from phasemark.session.rep_figure import (
    FigureAxis,
    FigureMuscle,
    FigurePhase,
    FigureSide,
    PhaseEdge,
    Reading,
    RepFigure,
)
from phasemark.signal.amplitude import Amplitude
from phasemark.window.figure.rep_figure_view import RepFigureView

AXIS = FigureAxis("bar height", "m", 0.0, 1.0)
LEVELS = (1 / 3, 2 / 3)
NAMES = {LOWERING: ("upper", "middle", "lower"), RAISING: ("lower", "middle", "upper")}


def reading(rms: float, before: float | None = None) -> Reading:
    """An RMS (mV), and that before a drag."""
    then = None if before is None else Amplitude(before, before * 0.8, 10, 10)
    return Reading(Amplitude(rms, rms * 0.8, 10, 10), then)


def phase(name: str, begin_s: float, hand: int | None = None) -> FigurePhase:
    """A phase of 3 s from end to end of the axis; one boundary may be placed by hand."""
    places = (1.0, 2 / 3, 1 / 3, 0.0) if name == LOWERING else (0.0, 1 / 3, 2 / 3, 1.0)
    edges = (PhaseEdge(p, begin_s + k, Origin.HAND if k == hand else Origin.AUTOMATIC) for k, p in enumerate(places))
    return FigurePhase(name, NAMES[name], tuple(edges))


def side(of: FigurePhase, peak_at: float, peak: float = 0.09, low: float = 0.02) -> FigureSide:
    """An envelope that is low but for a peak at one position, between flanks a twentieth of the axis away."""
    down = of.name == LOWERING
    positions = np.linspace(1, 0, 301) if down else np.linspace(0, 1, 301)
    envelope = np.interp(positions, [peak_at - 0.05, peak_at, peak_at + 0.05], [low, peak, low])
    times = of.edges[0].time_s + np.linspace(0, 3, 301)
    curve = Curve(times, positions, envelope, (0, 100, 200, 300), envelope, Fraction(100), of.edges[0].time_s)
    return FigureSide(of, curve, (reading(0.011), reading(0.022), reading(0.033)), reading(0.044))


def muscle(label: str, phases: tuple[FigurePhase, ...], peak_at: float = 0.5, **more: object) -> FigureMuscle:
    """A muscle with the same envelope in each phase."""
    facts = {"rep": reading(0.055), "excluded": None, "rectified": False, "peak": 0.095} | more
    return FigureMuscle(label, tuple(side(p, peak_at) for p in phases), **facts)  # type: ignore[arg-type]


def figure(
    count: int = 4, peak_at: float = 0.5, phases: tuple[FigurePhase, ...] | None = None, **more: object
) -> RepFigure:
    """A complete rep of so many muscles."""
    both = phases or (phase(LOWERING, 1.0), phase(RAISING, 4.0))
    facts: dict[str, object] = {
        "rep": 2, "number": 2, "complete_reps": 8, "complete": True, "counted": True, "excluded": None, "reason": "",
        "checked": False, "doubt": 0.0, "doubts": (), "axis": AXIS, "levels": LEVELS, "phases": both,
        "muscles": tuple(muscle(f"muscle {k + 1}", both, peak_at) for k in range(count)),
    }  # fmt: skip
    return RepFigure(**(facts | more))  # type: ignore[arg-type]


def shown(what: RepFigure | None, width: int = 640, height: int = 460) -> RepFigureView:
    """A view on the screen; the caller gives it to qtbot."""
    view = RepFigureView()
    view.resize(width, height)
    view.show()
    view.set_figure(what)
    QApplication.processEvents()
    return view


def pixels(view: RepFigureView, scale: float = 1.0) -> NDArray[np.int64]:
    """What is seen on a display of a scale: rows, columns, (red, green, blue)."""
    image = QImage(view.size() * scale, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(scale)
    image.fill(0)
    view.render(image)
    flat = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine() // 4, 4)
    return flat[:, : image.width(), 2::-1].astype(np.int64)


def like(image: NDArray[np.int64], colour: QColor, within: int = 60) -> NDArray[np.bool_]:
    """Which pixels are nearly of a colour."""
    wanted = np.array([colour.red(), colour.green(), colour.blue()])
    near: NDArray[np.bool_] = np.abs(image - wanted).sum(axis=2) <= within
    return near
