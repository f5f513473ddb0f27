"""Check boxes, radio buttons and fields can be found on a dark ground: WCAG 2.2, graphical objects 3 to 1."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage, QPalette, QStandardItem, QStandardItemModel
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QLineEdit,
    QRadioButton,
    QStyleFactory,
    QTableView,
    QVBoxLayout,
    QWidget,
)
from pytestqt.qtbot import QtBot

from phasemark.window.palette import contrast
from phasemark.window.visible_edges import EdgedCheckDelegate, keep_edge_seen


def palette(window: str, base: str, text: str) -> QPalette:
    """A palette of a system."""
    made = QPalette(QColor(window), QColor(window))
    made.setColor(QPalette.ColorRole.Base, QColor(base))
    for role in (QPalette.ColorRole.Text, QPalette.ColorRole.WindowText, QPalette.ColorRole.ButtonText):
        made.setColor(role, QColor(text))
    return made


LIGHT = palette("#efefef", "#ffffff", "#000000")
DARK = palette("#282a2e", "#1c1d20", "#e1e1e1")


def strongest(image: QImage, ground: QColor) -> float:
    """The highest contrast to the ground that a picture has."""
    colours = {image.pixel(x, y) for x in range(image.width()) for y in range(image.height())}
    return max(contrast(QColor(colour), ground) for colour in colours)


def shown(qtbot: QtBot, part: QWidget, colours: QPalette) -> QWidget:
    """The part on a window of a palette, another part having the keyboard."""
    window, other = QWidget(), QLineEdit()
    qtbot.addWidget(window)
    window.setPalette(colours)
    column = QVBoxLayout(window)
    column.addWidget(other)
    column.addWidget(part)
    window.show()
    other.setFocus()
    QApplication.processEvents()
    return window


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("kind", [QCheckBox, QRadioButton, QLineEdit])
def test_edges_are_seen(qtbot: QtBot, kind: type[QWidget], colours: QPalette) -> None:
    part = kind()
    keep_edge_seen(part)
    window = shown(qtbot, part, colours)
    assert window.isVisible()
    assert strongest(part.grab().toImage(), colours.color(QPalette.ColorRole.Window)) >= 3


def test_styles_alone_would_not_show_them(qtbot: QtBot) -> None:
    """Why this module is there; where it fails one day, the module can go."""
    part = QCheckBox()
    part.setStyle(QStyleFactory.create("fusion"))
    window = shown(qtbot, part, DARK)
    assert window.isVisible()
    assert strongest(part.grab().toImage(), DARK.color(QPalette.ColorRole.Window)) < 3


def test_edges_follow_when_it_gets_dark(qtbot: QtBot) -> None:
    part = QCheckBox()
    keep_edge_seen(part)
    window = shown(qtbot, part, LIGHT)
    window.setPalette(DARK)
    QApplication.processEvents()
    assert strongest(part.grab().toImage(), DARK.color(QPalette.ColorRole.Window)) >= 3
    window.setPalette(LIGHT)
    QApplication.processEvents()
    assert strongest(part.grab().toImage(), LIGHT.color(QPalette.ColorRole.Window)) >= 3


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_check_boxes_of_a_table_are_seen(qtbot: QtBot, colours: QPalette) -> None:
    model, view = QStandardItemModel(1, 1), QTableView()
    item = QStandardItem()
    item.setCheckable(True)
    item.setCheckState(Qt.CheckState.Unchecked)
    model.setItem(0, 0, item)
    view.setModel(model)
    view.setShowGrid(False)
    view.setItemDelegateForColumn(0, EdgedCheckDelegate(view))
    window = shown(qtbot, view, colours)
    assert window.isVisible()
    cell = view.viewport().grab(view.visualRect(model.index(0, 0))).toImage()
    assert strongest(cell, colours.color(QPalette.ColorRole.Base)) >= 3
