"""Small trials to draw, and a plot on the screen that draws them."""

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray
from PySide6.QtWidgets import QApplication, QGraphicsView

from phasemark.model.clock import ALIGNED, Alignment
from phasemark.model.marks import LOWERING, RAISING, Boundary, Marks, Origin, Phase, Rep
from phasemark.signal.pyramid import build
from phasemark.window.traces.trial_picture import Lane, LaneKind, TrialPicture
from phasemark.window.traces.trial_plot import TrialPlot

CLOCK = Fraction(1000)
LENGTH = 20_000


def phase(name: str, begin: int, end: int, hand: Sequence[int] = ()) -> Phase:
    """A phase cut at its thirds of time; boundaries at the samples in hand are placed by hand."""
    third = (end - begin) // 3
    at = [Boundary(s, Origin.HAND if s in hand else Origin.AUTOMATIC)
          for s in (begin, begin + third, begin + 2 * third, end)]  # fmt: skip
    return Phase(name, at[0], at[3], (at[1], at[2]))


def rep(rep_id: int, begin: int, end: int, pause: int = 0, **more: object) -> Rep:
    """A rep of two equal phases with a pause between them."""
    middle = (begin + end - pause) // 2
    phases = (phase(LOWERING, begin, middle), phase(RAISING, middle + pause, end))
    return Rep(rep_id, phases, **more)  # type: ignore[arg-type]


def marks(*reps: Rep, length: int = LENGTH) -> Marks:
    """Marks that hold these reps."""
    return Marks("R1", length, reps, next_id=max((r.id for r in reps), default=0) + 1)


THREE_REPS = marks(rep(1, 2000, 5000), rep(2, 6000, 10000, pause=1000), rep(3, 10000, 14000))


def lane(values: NDArray[np.float64], rate: Fraction = CLOCK, alignment: Alignment = ALIGNED, **more: object) -> Lane:
    """A muscle's lane with a scale from -1 to 1."""
    settings: dict[str, object] = {"limits": (-1.0, 1.0)} | more
    return Lane("soleus", "mV", rate, build(values), alignment=alignment, **settings)  # type: ignore[arg-type]


def movement(length: int = LENGTH) -> Lane:
    """A bar that goes up and down every 4 s, at 100 Hz."""
    position = 40 + 20 * np.cos(2 * np.pi * np.arange(length // 10) / 400)
    return Lane("bar height", "cm", Fraction(100), build(position), kind=LaneKind.MOVEMENT)


def picture(held: Marks = THREE_REPS, lanes: Sequence[Lane] | None = None) -> TrialPicture:
    """A trial of 20 s: a movement and two muscles, or the given lanes."""
    if lanes is None:
        noise = np.random.default_rng(1).normal(0, 0.1, LENGTH)
        lanes = (movement(), lane(noise), lane(2 * noise))
    levels = {r.id: (33.3, 46.7) for r in held.reps}
    return TrialPicture(tuple(lanes), CLOCK, held.length, held, levels)


def shown(what: TrialPicture | None, width: int = 1000, height: int = 600) -> TrialPlot:
    """A plot on the screen; the caller gives it to qtbot."""
    plot = TrialPlot()
    plot.resize(width, height)
    plot.show()
    plot.set_trial(what)
    QApplication.processEvents()
    return plot


def pixels(plot: TrialPlot, scale: float = 1.0) -> NDArray[np.uint8]:
    """What is seen of the traces on a display of a scale: rows, columns, (blue, green, red)."""
    from PySide6.QtGui import QImage

    view = plot.findChild(QGraphicsView)
    assert view is not None
    size = view.size() * scale
    image = QImage(size, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(scale)
    image.fill(0)
    target = view.viewport()
    target.render(image)
    flat = np.frombuffer(image.constBits(), np.uint8).reshape(size.height(), image.bytesPerLine() // 4, 4)
    return flat[:, : size.width(), :3].copy()
