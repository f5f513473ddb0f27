"""Everything the mouse does on the traces can be done from the keyboard."""

from fractions import Fraction

import pytest
from mouse import viewport
from pictures import CLOCK, THREE_REPS, marks, picture, rep, shown
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from phasemark.model.mark_edits import Address, addresses, joined
from phasemark.model.marks import Place
from phasemark.window.traces.plot_keys import Nudge
from phasemark.window.traces.trial_plot import TrialPlot
from phasemark.window.traces.view_span import Span

Key, Mod = Qt.Key, Qt.KeyboardModifier
FIRST = Address(1, 0, Place.BEGIN)


@pytest.fixture
def plot(qtbot: QtBot) -> TrialPlot:
    made = shown(picture())
    qtbot.addWidget(made)
    made.setFocus()
    return made


@pytest.mark.parametrize(
    ("key", "held", "samples"),
    [
        (Key.Key_Left, Mod.NoModifier, -1),
        (Key.Key_Right, Mod.NoModifier, 1),
        (Key.Key_Left, Mod.ShiftModifier, -10),
        (Key.Key_Right, Mod.ShiftModifier, 10),
        (Key.Key_Right, Mod.ControlModifier, 100),
        (Key.Key_Left, Mod.ControlModifier, -100),
    ],
)
def test_arrows_nudge_the_selected_boundary(plot: TrialPlot, key: Key, held: Mod, samples: int) -> None:
    """One sample, 10 ms, 100 ms at 1000 Hz; the plot itself moves nothing."""
    told: list[tuple[object, object]] = []
    plot.nudged.connect(lambda address, step: told.append((address, step)))
    plot.select(FIRST)
    QTest.keyClick(plot, key, held)
    assert told == [(FIRST, samples)]
    assert plot._picture is not None
    assert plot._picture.marks is THREE_REPS


@pytest.mark.parametrize(("rate", "ms", "samples"), [(Fraction(2000), 10, 20), (Fraction(111111, 100), 10, 11),
                                                     (Fraction(50), 10, 1), (Fraction(50), 100, 5)])  # fmt: skip
def test_milliseconds_are_whole_samples_of_the_clock(rate: Fraction, ms: int, samples: int) -> None:
    """At any rate a nudge moves by at least one sample, the same both ways."""
    assert Nudge(1, ms).samples(rate) == samples
    assert Nudge(-1, ms).samples(rate) == -samples


def test_without_a_selection_arrows_move_the_view(plot: TrialPlot) -> None:
    """Side arrows see later and earlier seconds while no boundary is selected, pages by almost a screen, to a pixel."""
    plot.show_span(Span(5.0, 7.0))
    pixel_s = 2.0 / viewport(plot).width()
    QTest.keyClick(plot, Key.Key_Right)
    assert plot.span.begin_s == pytest.approx(5.2, abs=pixel_s)
    QTest.keyClick(plot, Key.Key_Left)
    QTest.keyClick(plot, Key.Key_PageDown)
    assert plot.span.begin_s == pytest.approx(6.8, abs=pixel_s)
    QTest.keyClick(plot, Key.Key_PageUp)
    assert plot.span.begin_s == pytest.approx(5.0, abs=pixel_s)


def test_down_walks_every_boundary_once_and_up_walks_back(plot: TrialPlot) -> None:
    """In order of time; the two names of a shared sample are one stop; the ends are ends."""
    met = []
    for _ in range(40):
        QTest.keyClick(plot, Key.Key_Down)
        met.append(plot.selected_address)
    ordered = list(dict.fromkeys(met))
    shared = {a for a in addresses(THREE_REPS) if a.place is Place.BEGIN and joined(THREE_REPS, a) is not None}
    assert ordered == [a for a in addresses(THREE_REPS) if a not in shared]
    back = [plot.selected_address]
    for _ in range(40):
        QTest.keyClick(plot, Key.Key_Up)
        back.append(plot.selected_address)
    assert list(dict.fromkeys(back)) == ordered[::-1]


def test_from_the_second_name_of_a_shared_boundary_up_leaves_it(plot: TrialPlot) -> None:
    """Selected from outside by its other name, it is still one stop in both directions."""
    begin_3 = Address(3, 0, Place.BEGIN)
    plot.select(begin_3)
    QTest.keyClick(plot, Key.Key_Up)
    assert plot.selected_address == Address(2, 1, Place.SECOND_LINE)
    plot.select(begin_3)
    QTest.keyClick(plot, Key.Key_Down)
    assert plot.selected_address == Address(3, 0, Place.FIRST_LINE)


def test_the_first_step_begins_in_what_is_seen(plot: TrialPlot) -> None:
    """From no selection down takes the first boundary on the screen, up the last."""
    plot.show_span(Span(5.5, 8.0))
    QTest.keyClick(plot, Key.Key_Down)
    assert plot.selected_address == Address(2, 0, Place.BEGIN)
    plot.select(None)
    plot.show_span(Span(5.5, 8.0))
    QTest.keyClick(plot, Key.Key_Up)
    assert plot.selected_address is not None
    assert plot.selected_address.rep == 2


def test_a_selected_boundary_is_brought_into_view(plot: TrialPlot) -> None:
    """The width of the view stays; its seconds follow."""
    plot.show_span(Span(0.0, 1.0))
    plot.select(Address(3, 1, Place.END))
    assert plot.span.begin_s < 14.0 < plot.span.end_s
    assert plot.span.width_s == pytest.approx(1.0)


def test_plus_minus_and_home_zoom(plot: TrialPlot) -> None:
    """Plus sees less about the selected boundary, minus more, Home all."""
    plot.select(Address(2, 0, Place.BEGIN))
    for key in (Key.Key_Plus, Key.Key_Equal, Key.Key_Plus):
        QTest.keyClick(plot, key)
    assert plot.span.width_s == pytest.approx(20.4 * 0.8**3)
    QTest.keyClick(plot, Key.Key_Minus)
    assert plot.span.width_s == pytest.approx(20.4 * 0.8**2)
    QTest.keyClick(plot, Key.Key_Home)
    assert plot.span == Span(-0.2, 20.2)


def test_tab_walks_boundaries_only_while_one_is_selected(qtbot: QtBot) -> None:
    """No trap: without a selection, past the last boundary and after Escape, Tab goes to the next field."""
    window = QWidget()
    qtbot.addWidget(window)
    column = QVBoxLayout(window)
    plot, before, after = TrialPlot(), QLineEdit(), QLineEdit()
    for part in (before, plot, after):
        column.addWidget(part)
    window.resize(900, 600)
    window.show()
    plot.set_trial(picture(marks(rep(1, 2000, 5000))))
    plot.setFocus()
    QTest.keyClick(plot, Key.Key_Tab)
    assert window.focusWidget() is after
    plot.setFocus()
    plot.select(FIRST)
    QTest.keyClick(plot, Key.Key_Tab)
    assert window.focusWidget() is plot
    assert plot.selected_address == Address(1, 0, Place.FIRST_LINE)
    QTest.keyClick(plot, Key.Key_Backtab)
    assert plot.selected_address == FIRST
    QTest.keyClick(plot, Key.Key_Backtab)
    assert window.focusWidget() is before
    plot.setFocus()
    QTest.keyClick(plot, Key.Key_Escape)
    assert plot.selected_address is None


def test_a_screen_reader_hears_the_selected_boundary(plot: TrialPlot) -> None:
    """The plot has a name, and its description follows the selection and the marks."""
    assert plot.accessibleName()
    plot.select(Address(1, 1, Place.SECOND_LINE))
    assert plot.accessibleDescription() == "rep 1: middle | upper of raising at 4.500 s, automatic"
    plot.select(None)
    assert plot.accessibleDescription() == "No boundary is selected."


def test_keys_of_others_are_left_to_them(plot: TrialPlot) -> None:
    """A key that means nothing here is not swallowed."""
    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QKeyEvent

    event = QKeyEvent(QEvent.Type.KeyPress, Key.Key_Z, Mod.ControlModifier)
    QApplication.sendEvent(plot, event)
    assert not event.isAccepted()
    assert plot._picture is not None
    assert plot._picture.clock == CLOCK
