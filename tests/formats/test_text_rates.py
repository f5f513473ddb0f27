"""Columns slower than the rows: at the top, in every n-th row, or repeated to fill all rows."""

from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from text_files import lines_of, save

from phasemark.formats import read_recording
from phasemark.formats.mapping import EmgColumn, Mapping, MovementColumn, TimeColumn
from phasemark.model.clock import parse_rate, rate_text
from phasemark.model.errors import BadData
from phasemark.model.recording import Recording, Samples

RANDOM = np.random.default_rng(9)
ROWS = 6000
EMG = np.round(RANDOM.normal(size=ROWS), 4)


def mapping(rate: Any, *, rows: Any = 1000, emg_rate: Any = None, time: TimeColumn | None = None) -> Mapping:
    return Mapping(
        (EmgColumn(1, "RF", unit="mV", rate=None if emg_rate is None else parse_rate(emg_rate)),),
        (MovementColumn(2, "angle", "deg", rate=None if rate is None else parse_rate(rate)),),
        None if rows is None else parse_rate(rows),
        time,
    )


def read_beside(tmp_path: Path, slow: Samples, how: Mapping) -> Recording:
    columns = np.full((max(ROWS, len(slow)), 2), np.nan)
    columns[:ROWS, 0], columns[: len(slow), 1] = EMG, slow
    return read_recording(save(tmp_path, "\n".join(lines_of(columns))), how)


def slow_values(rate: str) -> Samples:
    return np.round(np.cumsum(RANDOM.normal(size=int(ROWS * Fraction(rate) / 1000))), 3) + 20


@pytest.mark.parametrize("rate", ["50", "100", "500", "200", "148.148", "333.25", "60"])
def test_samples_one_after_the_other_from_the_top(tmp_path: Path, rate: Any) -> None:
    """They fill only as many rows as their own rate gives."""
    slow = slow_values(rate)
    recording = read_beside(tmp_path, slow, mapping(rate))
    np.testing.assert_array_equal(recording.movement_values[0], slow)
    assert recording.movement[0].rate == Fraction(rate)
    assert any("rows from the top are samples" in note for note in recording.notes)


@pytest.mark.parametrize("rate", ["50", "100", "500", "200", "148.148", "333.25", "60"])
@pytest.mark.parametrize("first", [0, 3])
def test_every_nth_row(tmp_path: Path, rate: Any, first: int) -> None:
    """Filled where a sample falls; ratios need not be whole, and the first may come later."""
    slow = slow_values(rate)
    ratio = 1000 / Fraction(rate)
    first = min(first, int(ratio) - 1) if ratio.denominator == 1 else 0
    rows = np.full(ROWS + 8, np.nan)
    rows[[int(ratio * j) + first for j in range(len(slow))]] = slow
    recording = read_beside(tmp_path, rows, mapping(rate))
    np.testing.assert_array_equal(recording.movement_values[0], slow)
    assert recording.movement[0].rate == Fraction(rate)
    assert recording.movement[0].alignment.shift_s == Fraction(first, 1000)


def test_every_nth_row_with_gaps(tmp_path: Path) -> None:
    """A sample that is missing among them is missing at its own rate."""
    slow = slow_values("50")
    slow[100:110] = np.nan
    rows = np.full(ROWS, np.nan)
    rows[::20] = slow
    recording = read_beside(tmp_path, rows, mapping("50"))
    np.testing.assert_array_equal(recording.movement_values[0], slow)
    assert "angle: 10 samples missing from 2.000 s" in recording.notes


@pytest.mark.parametrize("how", ["repeated", "interpolated"])
@pytest.mark.parametrize("rate", ["50", "100", "500"])
@pytest.mark.parametrize("more", [-13, 0, 20])
def test_repeated_or_interpolated_to_all_rows(tmp_path: Path, how: Any, rate: Any, more: int) -> None:
    """Every n-th row is taken, also where the column ends a little before or after the others."""
    slow, step = slow_values(rate), 1000 // int(rate)
    rows = np.repeat(slow, step) if how == "repeated" else np.interp(np.arange(ROWS), np.arange(len(slow)) * step, slow)
    rows = np.append(rows, [rows[-1]] * max(0, more))[: ROWS + more]
    trace = read_beside(tmp_path, rows, mapping(rate)).movement_values[0]
    np.testing.assert_array_equal(trace[: len(slow)], slow[: len(trace)])
    assert len(trace) == -(-(ROWS + more) // step)


def test_repeated_without_a_stated_rate(tmp_path: Path) -> None:
    """Values as they stand in the rows, at the rows' rate."""
    rows = np.repeat(slow_values("50"), 20)
    recording = read_beside(tmp_path, rows, mapping(None))
    np.testing.assert_array_equal(recording.movement_values[0], rows)
    assert recording.movement[0].rate == 1000


def test_repeated_at_a_rate_that_is_no_whole_part(tmp_path: Path) -> None:
    """Nothing is resampled: the rows stay as they are, and it is said."""
    rows = np.sin(np.arange(ROWS) / 500)
    recording = read_beside(tmp_path, rows, mapping("148.148"))
    np.testing.assert_array_equal(recording.movement_values[0], rows)
    assert recording.movement[0].rate == 1000
    assert any("no whole part" in note for note in recording.notes)


def test_every_nth_row_without_its_rate_is_asked_for(tmp_path: Path) -> None:
    """Without a rate such a column would be nearly all gap."""
    rows = np.full(ROWS, np.nan)
    rows[::20] = slow_values("50")
    with pytest.raises(BadData, match="angle is filled in every 20th row only; give its column the rate_hz 50"):
        read_beside(tmp_path, rows, mapping(None))


@pytest.mark.parametrize("rate", ["40", "60", "49"])
def test_filled_rows_that_do_not_fit_the_rate(tmp_path: Path, rate: Any) -> None:
    rows = np.full(ROWS, np.nan)
    rows[::20] = slow_values("50")
    with pytest.raises(BadData, match=f"does not fit {rate} Hz beside 1000"):
        read_beside(tmp_path, rows, mapping(rate))


def test_the_rows_go_at_the_highest_rate(tmp_path: Path) -> None:
    """rate_hz is the default of all columns; a faster column states its own."""
    slow = slow_values("100")
    recording = read_beside(tmp_path, slow, mapping(None, rows=100, emg_rate=1000))
    assert [recording.emg[0].rate, recording.movement[0].rate] == [1000, 100]
    np.testing.assert_array_equal(recording.movement_values[0], slow)


def test_a_column_faster_than_the_times(tmp_path: Path) -> None:
    """The times say how fast the rows come."""
    rows = "\n".join(f"{value}\t{i}\t{i / 1000:.3f}" for i, value in enumerate(EMG))
    with pytest.raises(BadData, match=r"the times give 1000 rows a second, but the mapping says rate_hz 2000 for RF"):
        read_recording(save(tmp_path, rows), mapping(None, rows=None, emg_rate=2000, time=TimeColumn(3)))


def test_slow_column_beside_times(tmp_path: Path) -> None:
    """The rate of the rows from the times, that of the slower column from the mapping."""
    slow = slow_values("50")
    columns = np.full((ROWS, 3), np.nan)
    columns[:, 0], columns[: len(slow), 1], columns[:, 2] = EMG, slow, np.arange(ROWS) / 1000
    path = save(tmp_path, "\n".join(lines_of(columns)))
    recording = read_recording(path, mapping("50", rows=None, time=TimeColumn(3)))
    assert [rate_text(recording.emg[0].rate), rate_text(recording.movement[0].rate)] == ["1000", "50"]
    np.testing.assert_array_equal(recording.movement_values[0], slow)


def test_slow_emg(tmp_path: Path) -> None:
    """An EMG envelope at a tenth of the rate beside raw EMG, both from the top."""
    slow = slow_values("100")
    how = Mapping(
        (EmgColumn(1, "RF", unit="mV"), EmgColumn(2, "RF envelope", unit="uV", rate=parse_rate(100))),
        (),
        parse_rate(1000),
    )
    recording = read_beside(tmp_path, slow, how)
    assert [len(v) for v in recording.emg_values] == [ROWS, len(slow)]
    assert recording.emg[1].rate == 100
