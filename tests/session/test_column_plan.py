"""A file's columns described field by field: what is open is said at its place, and what comes of it is a mapping."""

from fractions import Fraction

import pytest

from phasemark.formats.mapping import EmgColumn, Mapping, MovementColumn, TimeColumn
from phasemark.formats.titles import Heading
from phasemark.model.errors import BadData
from phasemark.model.recording import Side, Treatment, Up
from phasemark.session.column_fields import applies, choices, text_of, with_text
from phasemark.session.column_plan import ColumnPlan, Field, Use, blank_plan, mapping_from, plan_from
from phasemark.session.column_points import open_points

HEADINGS = (
    Heading(1, "time", "time", ""),
    Heading(2, "RF left (mV)", "RF left", "mV"),
    Heading(3, "BF", "BF", ""),
    Heading(4, "Knee (deg)", "Knee", "deg"),
    Heading(5, "Bar height (cm)", "Bar height", "cm"),
)


def filled(*cells: tuple[int, Field, str], rate: str = "") -> ColumnPlan:
    plan = ColumnPlan(blank_plan(HEADINGS).columns, rate)
    for number, field, text in cells:
        plan = with_text(plan, number, field, text, HEADINGS[number - 1])
    return plan


def words(plan: ColumnPlan) -> list[tuple[int, Field, str]]:
    return [(point.column, point.field, point.words) for point in open_points(plan, HEADINGS)]


COMPLETE = filled(
    (1, Field.USE, "time"), (1, Field.UNIT, "ms"), (2, Field.USE, "emg"),
    (3, Field.USE, "EMG"), (3, Field.UNIT, "counts"), (3, Field.GAIN, "0,5"), (3, Field.VALUES, "rectified"),
    (5, Field.USE, "movement (phases)"), (4, Field.USE, "movement (other)"), (4, Field.RATE, "50"),
    (4, Field.VALUES, "smaller"),
)  # fmt: skip


def test_a_complete_plan_is_a_mapping_whose_first_movement_defines_the_phases() -> None:
    assert words(COMPLETE) == []
    assert mapping_from(COMPLETE) == Mapping(
        (EmgColumn(2, "RF", Side.LEFT, "mV"), EmgColumn(3, "BF", Side.NONE, "counts", 0.5, None, Treatment.RECTIFIED)),
        (
            MovementColumn(5, "Bar height", "cm", Up.LARGER),
            MovementColumn(4, "Knee", "deg", Up.SMALLER, None, Fraction(50)),
        ),
        None,
        TimeColumn(1, "ms"),
    )


def test_a_mapping_becomes_a_plan_that_states_it() -> None:
    again = plan_from(mapping_from(COMPLETE), HEADINGS, "a.txt")
    assert mapping_from(again) == mapping_from(COMPLETE)
    assert [column.use for column in again.columns] == [column.use for column in COMPLETE.columns]


def test_columns_named_by_title_are_found_and_missing_ones_are_refused() -> None:
    plan = plan_from(Mapping((EmgColumn("BF", "biceps femoris", unit="mV"),), rate=Fraction(1000)), HEADINGS, "a.txt")
    assert plan.columns[2].name == "biceps femoris"
    assert plan.rate == "1000"
    with pytest.raises(BadData, match="no column 9"):
        plan_from(Mapping((EmgColumn(9, "x"),)), HEADINGS, "a.txt")


def test_a_title_fills_in_what_it_says_and_no_more() -> None:
    """Muscle parted from the side, the unit; a height is raised where it is larger, an angle has to be asked for."""
    plan = filled((2, Field.USE, "EMG"), (3, Field.USE, "EMG"), (5, Field.USE, "movement (phases)"))
    rf, bf, bar = plan.columns[1], plan.columns[2], plan.columns[4]
    assert (rf.name, rf.side, rf.unit) == ("RF", Side.LEFT, "mV")
    assert (bf.name, bf.side, bf.unit) == ("BF", Side.NONE, "")
    assert (bar.name, bar.unit, bar.up) == ("Bar height", "cm", Up.LARGER)
    assert filled((4, Field.USE, "movement (phases)")).columns[3].up is None


def test_only_one_movement_defines_the_phases() -> None:
    plan = filled((4, Field.USE, "movement (phases)"), (5, Field.USE, "movement (phases)"))
    assert [column.use for column in plan.columns[3:]] == [Use.MOVEMENT, Use.PHASES]


EMG2 = (2, Field.USE, "EMG")


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        (filled(), (0, Field.USE, "say which columns are EMG and which are movement")),
        (filled(EMG2), (0, Field.RATE, "give the sampling rate, or say which column is the time")),
        (filled(EMG2, rate="fast"), (0, Field.RATE, "the sampling rate is a number above zero, such as 1000")),
        (filled(EMG2, rate="0"), (0, Field.RATE, "the sampling rate is a number above zero, such as 1000")),
        (filled(EMG2, (2, Field.NAME, " "), rate="1000"), (2, Field.NAME, "name the muscle")),
        (filled((3, Field.USE, "EMG"), rate="1"), (3, Field.UNIT, "choose the unit (V, mV, uV, nV, counts)")),
        (filled(EMG2, (2, Field.UNIT, "counts"), rate="1"), (2, Field.GAIN, "state the gain in mV a count")),
        (filled(EMG2, (2, Field.GAIN, "0"), rate="1"), (2, Field.GAIN, "the gain is a number other than zero")),
        (filled(EMG2, (2, Field.RATE, "-5")), (2, Field.RATE, "the rate is a number above zero")),
        (filled((4, Field.USE, "movement (phases)"), rate="1"), (4, Field.VALUES, "say which way is raising")),
        (filled((4, Field.USE, "movement (other)"), rate="1"), (0, Field.USE, "say which movement defines the phases")),
        (filled(EMG2, (1, Field.USE, "time")), (1, Field.UNIT, "choose the unit (s, ms)")),
        (
            filled(EMG2, (3, Field.USE, "EMG"), (3, Field.NAME, "RF"), (3, Field.SIDE, "left"), rate="1"),
            (2, Field.NAME, "two columns are called RF (left)"),
        ),
        (
            filled(EMG2, (1, Field.USE, "time"), (1, Field.UNIT, "s"), (3, Field.USE, "time"), (3, Field.UNIT, "s")),
            (1, Field.USE, "only one column can be the time"),
        ),
    ],
)
def test_what_is_open_is_said_at_its_place(plan: ColumnPlan, said: tuple[int, Field, str]) -> None:
    assert said in words(plan)


def test_a_rate_too_high_for_the_mapping_is_said_too() -> None:
    """What only the mapping's own rules refuse is not lost."""
    assert "too many" in words(filled(EMG2, rate="99999999999"))[0][2]


def test_decimal_commas_are_taken_in_rates() -> None:
    assert mapping_from(filled(EMG2, rate="1111,11")).rate == Fraction(111111, 100)


def test_fields_that_mean_nothing_take_nothing() -> None:
    """A time column has no muscle; a text that is none of the choices changes nothing."""
    plan = filled((1, Field.USE, "time"))
    assert not applies(plan.columns[0], Field.NAME)
    assert choices(plan.columns[0], Field.SIDE) == ()
    assert filled((1, Field.USE, "time"), (1, Field.NAME, "x"), (1, Field.UNIT, "h")) == plan
    assert filled((1, Field.USE, "something")) == blank_plan(HEADINGS)
    assert filled(EMG2, (2, Field.UNIT, "furlong")) == filled(EMG2)
    assert text_of(filled(EMG2, (2, Field.UNIT, "µV")).columns[1], Field.UNIT) == "uV"
