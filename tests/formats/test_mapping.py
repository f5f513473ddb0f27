"""The mapping as JSON: read, written, and every kind of mistake said with its place."""

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from phasemark.formats.mapping import EmgColumn, Mapping, MovementColumn, TimeColumn, to_plain
from phasemark.formats.mapping_json import parse_mapping, read_mapping
from phasemark.model.clock import Rate
from phasemark.model.codec import json_text
from phasemark.model.errors import BadData, Unavailable
from phasemark.model.recording import Side, Treatment, Up

EXAMPLE = {
    "version": 1,
    "rate_hz": 1000,
    "emg": [{"column": 1, "muscle": "rectus femoris", "side": "left", "unit": "mV"}],
    "movement": [{"column": 5, "kind": "joint angle", "unit": "deg", "up": "larger", "rate_hz": 50}],
    "time": None,
}


def changed(place: str = "", **parts: object) -> dict[str, object]:
    """The example with parts of its top, its EMG or its movement replaced (or taken away with ...)."""
    plain = json.loads(json.dumps(EXAMPLE))
    target = plain[place][0] if place else plain
    for key, value in parts.items():
        target[key] = value
    for key in [key for key, value in target.items() if value is ...]:
        del target[key]
    return plain


def test_the_example() -> None:
    """Each part of the documented example."""
    mapping = parse_mapping(EXAMPLE)
    assert mapping == Mapping(
        emg=(EmgColumn(1, "rectus femoris", Side.LEFT, "mV"),),
        movement=(MovementColumn(5, "joint angle", "deg", Up.LARGER, rate=Fraction(50)),),
        rate=Fraction(1000),
    )


def test_single_objects_titles_times_and_exact_rates() -> None:
    """One object in place of a list; columns by title; time with its unit; rates as numbers and decimal text."""
    plain = changed(
        emg={"column": "RF", "muscle": "RF", "unit": "counts", "gain": 0.001, "treatment": "rectified"},
        rate_hz="1111.11",
        time={"column": "t", "unit": "ms"},
    )
    mapping = parse_mapping(plain)
    assert mapping.rate == Fraction(111111, 100)
    assert mapping.emg[0] == EmgColumn("RF", "RF", unit="counts", gain=0.001, treatment=Treatment.RECTIFIED)
    assert mapping.time == TimeColumn("t", "ms")
    assert parse_mapping(changed(time=6)).time == TimeColumn(6)
    assert parse_mapping(changed(rate_hz=1111.11)).rate == Fraction(111111, 100)
    assert parse_mapping(changed("emg", unit="µV")).emg[0].unit == "uV"
    assert parse_mapping(changed("emg", side="")).emg[0].side is Side.NONE
    assert parse_mapping(changed("movement", unit="")).movement[0].unit == ""


@pytest.mark.parametrize(
    ("plain", "problem"),
    [
        ([], "must be an object in braces, not a list"),
        ("text", "must be an object in braces, not 'text'"),
        ({}, "it names no emg and no movement column"),
        (changed(version=...), "version is missing"),
        (changed(version=2), "version must be 1, not 2"),
        (changed(version=True), "version must be 1, not true or false"),
        (changed(version="1"), "version must be 1, not '1'"),
        (changed(rate_hz=0), "rate_hz must be above zero, not 0"),
        (changed(rate_hz=0.0), "rate_hz must be above zero, not 0.0"),
        (changed(rate_hz=-5), "rate_hz must be above zero, not -5"),
        (changed(rate_hz="fast"), "rate_hz must be a number of samples a second, such as 1000, not 'fast'"),
        (changed(rate_hz=True), "rate_hz must be a number"),
        (changed(rate_hz=[1000]), "rate_hz must be a number of samples a second, such as 1000, not a list"),
        (changed(rate_hz="1e999999999"), "rate_hz must be a number"),
        (changed(rate_hz=1e300), "rate_hz must be"),
        (changed(rate_hz="1/0"), "rate_hz must be"),
        (changed(rates=3), "unknown key 'rates' (known are version, rate_hz, emg, movement, time)"),
        (changed(emg="RF"), "emg must be a list of objects, not 'RF'"),
        (changed(emg=[3]), "emg 1: must be an object in braces, not 3"),
        (changed("emg", muscle=...), "emg 1: muscle is missing"),
        (changed("emg", muscle="  "), "emg 1: muscle must be a text that is not empty"),
        (changed("emg", muscle=4), "emg 1: muscle must be a text that is not empty, not 4"),
        (changed("emg", column=...), "emg 1: column is missing"),
        (changed("emg", column=0), "emg 1: column must be a number from 1 or a title, not 0"),
        (changed("emg", column=1.5), "emg 1: column must be a number from 1 or a title, not 1.5"),
        (changed("emg", column=True), "emg 1: column must be a number from 1 or a title"),
        (changed("emg", unit="mv"), "emg 1: The EMG unit 'mv' is not known; state one of V, mV, uV, nV, counts"),
        (changed("emg", unit=7), "emg 1: unit must be a text"),
        (changed("emg", unit="counts"), "emg 1: raw counts need a gain in mV per count"),
        (changed("emg", gain=0), "emg 1: gain must be a number other than zero, not 0"),
        (changed("emg", gain="2"), "emg 1: gain must be a number other than zero, not '2'"),
        (changed("emg", gain=float("inf")), "emg 1: gain must be a number other than zero"),
        (changed("emg", side="up"), "emg 1: side must be left or right or none, not 'up'"),
        (changed("emg", treatment="clean"), "emg 1: treatment must be raw or rectified, not 'clean'"),
        (changed("emg", kind="x"), "emg 1: unknown key 'kind'"),
        (changed("movement", up="higher"), "movement 1: up must be larger or smaller, not 'higher'"),
        (changed("movement", rate_hz=0), "movement 1: rate_hz must be above zero"),
        (changed("movement", column=1), "column 1 is used 2 times"),
        (changed(time=5), "column 5 is used 2 times"),
        (changed(time={"column": 6, "unit": "h"}), "time: unit must be s or ms, not 'h'"),
        (changed(time={"unit": "s"}), "time: column is missing"),
        (changed(time=1.5), "time: column must be a number from 1 or a title, not 1.5"),
        (changed(emg=EXAMPLE["emg"] + [{**EXAMPLE["emg"][0], "column": 2}]), "2 emg columns are called rectus femoris"),
    ],
)
def test_each_mistake_is_said_with_its_place(plain: object, problem: str) -> None:
    with pytest.raises(BadData) as caught:
        parse_mapping(plain, "map.json")
    message = str(caught.value)
    assert message.startswith("map.json cannot be used: ")
    assert problem in message
    assert message.endswith(".")


def test_all_mistakes_come_in_one_message_that_stays_short() -> None:
    """Five are said, the others counted."""
    emg = [{"column": 0, "muscle": "", "unit": "mv"} for _ in range(4)]
    with pytest.raises(BadData, match=r"emg 1: .*emg 2: .*; and \d+ more\.$"):
        parse_mapping(changed(emg=emg, version=3))


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"", "is not valid JSON"),
        (b"{'version': 1}", r"is not valid JSON: .* at line 1, column 2"),
        (b'{"version": 1,\n "emg": [}', r"at line 2, column"),
        (b'{"version": 1, "version": 1}', "key 'version' stands twice"),
        (b'{"rate_hz": NaN}', "NaN is not a number"),
        (b"\xff\xfe\x00\x01", "not UTF-8 text"),
        (b"[" * 100_000, "is not a mapping"),
    ],
)
def test_files_that_are_no_mapping(tmp_path: Path, content: bytes, problem: str) -> None:
    path = tmp_path / "map.json"
    path.write_bytes(content)
    with pytest.raises(BadData, match=problem) as caught:
        read_mapping(path)
    assert "map.json" in str(caught.value)


def test_a_mapping_file_with_a_byte_order_mark_and_an_exact_rate(tmp_path: Path) -> None:
    """Numbers in the file are the decimals they are written as."""
    path = tmp_path / "map.json"
    path.write_text(
        json.dumps(changed(rate_hz=1)).replace('"rate_hz": 1,', '"rate_hz": 1000.000000000000001,'), "utf-8-sig"
    )
    assert read_mapping(path).rate == Fraction(Decimal("1000.000000000000001"))
    with pytest.raises(Unavailable, match=r"nowhere\.json cannot be read"):
        read_mapping(tmp_path / "nowhere.json")


RATES = st.one_of(st.none(), st.fractions(Fraction(1, 100), 10_000, max_denominator=1000))
TEXTS = st.text(st.characters(categories=("L", "N", "P")), min_size=1, max_size=12)
GAINS = st.one_of(st.none(), st.floats(1e-9, 1e9))
EMG = st.builds(
    EmgColumn, TEXTS, TEXTS, st.sampled_from(Side), st.sampled_from([None, "mV", "V", "uV"]), GAINS, RATES,
    st.sampled_from(Treatment),
)  # fmt: skip
MOVEMENT = st.builds(
    MovementColumn, st.integers(1, 500), TEXTS, st.sampled_from([None, "deg", "cm"]), st.sampled_from([None, *Up]),
    GAINS, RATES,
)  # fmt: skip


@settings(max_examples=50, deadline=None)
@given(
    st.lists(EMG, max_size=4, unique_by=(lambda part: part.column, lambda part: (part.muscle, part.side))),
    st.lists(MOVEMENT, min_size=1, max_size=3, unique_by=lambda part: part.column),
    RATES,
    st.one_of(st.none(), st.builds(TimeColumn, st.integers(501, 600), st.sampled_from([None, "s", "ms"]))),
)
def test_what_is_written_is_read_back_equal(
    emg: list[EmgColumn], movement: list[MovementColumn], rate: Rate | None, time: TimeColumn | None
) -> None:
    """Through JSON text, as it is kept with a recording."""
    mapping = Mapping(tuple(emg), tuple(movement), rate, time)
    assert parse_mapping(json.loads(json_text(to_plain(mapping)))) == mapping
