"""The drawn column of the comparison's table: where its lines lie, and what the shape of the mean says."""

import numpy as np
import pytest
from made_comparison import picture_of
from numpy.typing import NDArray
from PySide6.QtCore import QRect
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QStyleOptionViewItem
from pytestqt.qtbot import QtBot

from phasemark.session.comparison_tables import Column
from phasemark.window.comparing.comparison_model import ComparisonModel
from phasemark.window.comparing.interval_delegate import IntervalDelegate

WIDTH, HEIGHT, AIR = 217, 40, 8
MORE = [[11.0, 1.0], [13.0, 2.0], [12.0, 3.0], [14.0, 2.0]]
OPEN = [[1.0, 9.0], [9.0, 2.0], [4.0, 3.0], [2.0, 5.0]]
ALIKE = [[1.0, 1.1], [2.0, 1.9], [3.0, 3.1], [2.0, 2.0]]


def drawn(table: list[list[float]], smallest: float = 5.0) -> tuple[ComparisonModel, NDArray[np.bool_]]:
    """The model, and where there is ink in the drawn cell of its first row."""
    model = ComparisonModel()
    model.show(picture_of(table, smallest=smallest))
    image = QImage(WIDTH, HEIGHT, QImage.Format.Format_RGB32)
    image.fill(QColor("white"))
    option = QStyleOptionViewItem()
    option.rect = QRect(0, 0, WIDTH, HEIGHT)
    painter = QPainter(image)
    IntervalDelegate(model).paint(painter, option, model.index(0, Column.DRAWN))
    painter.end()
    grey = np.array([[QColor(image.pixel(x, y)).lightness() for x in range(WIDTH)] for y in range(HEIGHT)])
    return model, grey < 160


def column_of(model: ComparisonModel, value: float) -> int:
    scale = model.scale
    assert scale is not None
    return round(AIR + (WIDTH - 2 * AIR) * (value - scale.low) / (scale.high - scale.low))


def test_zero_is_a_whole_line_and_the_smallest_effect_a_broken_one(qtbot: QtBot) -> None:
    model, ink = drawn(MORE)
    zero = ink[:, column_of(model, 0.0) - 1 : column_of(model, 0.0) + 2].any(axis=1)
    assert zero.all()
    for end in (-5.0, 5.0):
        broken = ink[:, column_of(model, end) - 1 : column_of(model, end) + 2].any(axis=1)
        assert 0.3 < broken.mean() < 1


def test_the_interval_reaches_from_its_lower_to_its_upper_limit(qtbot: QtBot) -> None:
    model, ink = drawn(MORE)
    interval = model.rows[0].cell.difference.interval
    row = ink[HEIGHT // 2 - 1 : HEIGHT // 2 + 2].any(axis=0)
    low, high = column_of(model, interval.low), column_of(model, interval.high)
    assert row[low + 1 : high - 1].all()
    assert not row[column_of(model, 5.0) + 3 : low - 2].any()


@pytest.mark.parametrize(("table", "shape"), [(MORE, "square"), (OPEN, "ring"), (ALIKE, "lozenge")])
def test_the_shape_of_the_mean_says_the_verdict(qtbot: QtBot, table: list[list[float]], shape: str) -> None:
    model, ink = drawn(table)
    at, middle = column_of(model, model.rows[0].cell.difference.mean), HEIGHT // 2
    rows = [y for y in range(HEIGHT) if ink[y, at - 3 : at + 4].sum() >= 3]
    wide = {y: int(ink[y, at - 8 : at + 9].sum()) for y in rows}
    found = "ring" if not ink[middle, at] else "square" if wide[rows[0]] >= 6 else "lozenge"
    assert found == shape
