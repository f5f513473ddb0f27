"""The sampling rate from a column of times."""

from collections.abc import Callable
from datetime import datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from text_files import arrays, emg_mapping, save, table

from phasemark.formats import read_recording
from phasemark.formats.mapping import TimeColumn
from phasemark.model.clock import parse_rate
from phasemark.model.errors import BadData
from phasemark.model.recording import Recording

VALUES = table(3000, 2)


def timed(times: list[str], title: str = "time") -> str:
    """Two columns behind a column of times."""
    rows = [f"{time};{a};{b}" for time, (a, b) in zip(times, VALUES.tolist(), strict=False)]
    return "\n".join([f"{title};RF;angle", *rows])


def read_timed(
    tmp_path: Path, times: list[str], *, unit: str | None = None, rate: Any = None, title: str = "time"
) -> Recording:
    mapping = emg_mapping(2, rate, first=2, time=TimeColumn(1, unit))
    return read_recording(save(tmp_path, timed(times, title)), mapping)


@pytest.mark.parametrize(
    "rate", ["1000", "2000", "1024", "2048", "1111.11", "1500", "1259.259", "148.148", "1925.926", "100", "30", "59.94"]
)
@pytest.mark.parametrize("places", [6, 9])
def test_the_exact_rate_behind_rounded_times(tmp_path: Path, rate: Any, places: int) -> None:
    """Times rounded to micro- or nanoseconds give back the very rate they were made with."""
    times = [f"{float(Fraction(i) / Fraction(rate)):.{places}f}" for i in range(3000)]
    assert read_timed(tmp_path, times).clock == Fraction(rate)


@pytest.mark.parametrize(
    ("step", "rate"), [("0.001", "1000"), ("0.0201", "10000/201"), ("0.02", "50"), ("0.0005", "2000")]
)
def test_a_constant_step_is_taken_as_exact(tmp_path: Path, step: str, rate: Any) -> None:
    """Times at exact multiples of a decimal step: the rate is one over it (0.0201 s as in the bar turned by hand)."""
    times = [str(Fraction(step) * i) for i in range(200)]
    times = [f"{float(Fraction(time)):.4f}" for time in times]
    assert read_timed(tmp_path, times).clock == Fraction(rate)


@pytest.mark.parametrize(("rate", "places"), [("2000", 3), ("1500", 3), ("2000", 4), ("1024", 3)])
def test_times_coarser_than_the_samples(tmp_path: Path, rate: Any, places: int) -> None:
    """Milliseconds beside 2000 samples a second repeat, and still give the rate."""
    times = [f"{float(Fraction(i) / Fraction(rate)):.{places}f}" for i in range(3000)]
    assert read_timed(tmp_path, times).clock == Fraction(rate)


def test_six_significant_digits(tmp_path: Path) -> None:
    """Exports with a fixed number of digits get coarser towards the end."""
    times = [f"{100 + i / 1000:.6g}" for i in range(3000)]
    recording = read_timed(tmp_path, times)
    assert recording.clock == 1000
    assert "the times begin at 100 s; the recording's own time begins at 0" in recording.notes


@pytest.mark.parametrize(("unit", "title"), [("ms", "time"), (None, "time [ms]"), (None, "Time_ms")])
def test_milliseconds_by_mapping_or_title(tmp_path: Path, unit: str | None, title: str) -> None:
    assert read_timed(tmp_path, [f"{i * 0.5}" for i in range(3000)], unit=unit, title=title).clock == 2000


@pytest.mark.parametrize(
    "clock",
    ["%H:%M:%S.%f", "%Y-%m-%d %H:%M:%S.%f", "%Y-%m-%dT%H:%M:%S.%f"],
)
def test_clock_times_also_past_midnight(tmp_path: Path, clock: str) -> None:
    """Clock times with or without a date, over midnight."""
    begin = datetime(2024, 5, 3, 23, 59, 59)
    times = [(begin + timedelta(milliseconds=i)).strftime(clock) for i in range(3000)]
    recording = read_timed(tmp_path, times)
    assert recording.clock == 1000
    np.testing.assert_array_equal(np.transpose(arrays(recording)), VALUES)


def test_a_stated_rate_is_kept_and_checked(tmp_path: Path) -> None:
    """The stated rate stands where the times agree with it; else both figures are said."""
    times = [f"{i / 1111.11:.4f}" for i in range(3000)]
    assert read_timed(tmp_path, times, rate="1111.11").clock == parse_rate("1111.11")
    with pytest.raises(BadData, match=r"the times go at 1111\.11 rows a second, but the mapping says rate_hz 2000"):
        read_timed(tmp_path, times, rate="2000")


def test_times_in_the_wrong_unit_are_noticed(tmp_path: Path) -> None:
    """Milliseconds or sample numbers taken as seconds would give one sample a second."""
    with pytest.raises(BadData, match=r"gives only 1 rows a second; state its unit"):
        read_timed(tmp_path, [str(i) for i in range(3000)])


@pytest.mark.parametrize("title", ["Time (min)", "time_us", "Zeit [µs]", "t / h", "Time, min", "Time (samples)"])
def test_titles_that_say_another_unit_of_time_are_heeded(tmp_path: Path, title: str) -> None:
    """Minutes taken as seconds would give sixty times the rate, which nothing else shows; a stated unit stands."""
    times = [f"{i / 60000:.8f}" for i in range(3000)]
    with pytest.raises(BadData, match=r"trial\.txt, time column 1 \(.*\): the title says .+, and times are read in s"):
        read_timed(tmp_path, times, title=title)
    assert read_timed(tmp_path, times, title=title, unit="s").clock == 60000


@pytest.mark.parametrize("title", ["time", "Time (s)", "time [ms]", "t_s", "heel_minus", "Time [hh]"])
def test_other_titles_of_times_are_read(tmp_path: Path, title: str) -> None:
    scale = 1000 if "ms" in title else 1
    assert read_timed(tmp_path, [f"{i * scale / 1000:.3f}" for i in range(3000)], title=title).clock == 1000


def test_missing_rows_become_a_gap(tmp_path: Path) -> None:
    """Where times jump by whole samples the samples between are missing, not closed up."""
    times = [f"{i / 1000:.3f}" for i in range(3000)]
    kept = [*times[:1200], *times[1300:1301], *times[1302:]]
    recording = read_timed(tmp_path, kept)
    values = recording.emg_values[0]
    assert recording.clock == 1000
    assert len(values) == 3000
    assert np.flatnonzero(np.isnan(values)).tolist() == [*range(1200, 1300), 1301]
    np.testing.assert_array_equal(values[1302:], VALUES[1201 : 1201 + 1698, 0])
    assert any(note.startswith("the times jump over 101 samples, first at line 1202") for note in recording.notes)


def test_one_missing_row_is_noticed(tmp_path: Path) -> None:
    """Even one, which moves the line through all times by half a sample only."""
    times = [f"{i / 1000:.3f}" for i in range(3000) if i != 1500]
    assert np.flatnonzero(np.isnan(read_timed(tmp_path, times).emg_values[0])).tolist() == [1500]


def test_small_jitter_is_even(tmp_path: Path) -> None:
    jitter = np.random.default_rng(2).uniform(-1e-4, 1e-4, 3000)
    assert read_timed(tmp_path, [f"{i / 1000 + j:.6f}" for i, j in enumerate(jitter)]).clock == pytest.approx(
        1000, rel=1e-4
    )


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        (lambda t: [*t[:500], *t[100:]], r"line 502: the time goes back from 0\.499 to 0\.1; keep one recording"),
        (lambda t: ["0.5"] * 3000, "the time never changes"),
        (lambda t: [*t[:700], *(f"{float(v) + 0.0155:.4f}" for v in t[700:])], "line 702: the times are uneven"),
        (lambda t: [f"{float(v) ** 2:.6f}" for v in t], "the times are uneven"),
        (lambda t: [*t[:700], *(f"{float(v) + 900:.3f}" for v in t[700:])], "line 702: the times are uneven"),
        (lambda t: ["0.1", *[""] * 2999], "fewer than two times"),
        (lambda t: [*t[:700], "12:5x", *t[701:]], "line 702, column 1: '12:5x' is not a number"),
    ],
)
def test_times_that_make_no_sense_are_refused_with_the_line(
    tmp_path: Path, change: Callable[[list[str]], list[str]], problem: str
) -> None:
    with pytest.raises(BadData, match=problem):
        read_timed(tmp_path, change([f"{i / 1000:.3f}" for i in range(3000)]))


def test_a_few_missing_times_are_said(tmp_path: Path) -> None:
    times = [f"{i / 1000:.3f}" for i in range(3000)]
    times[100:110] = [""] * 10
    recording = read_timed(tmp_path, times)
    assert recording.clock == 1000
    assert len(recording.emg_values[0]) == 3000
    assert "the time is missing in 10 rows, which are taken as evenly spaced" in recording.notes


def test_no_rate_and_no_times(tmp_path: Path) -> None:
    with pytest.raises(BadData, match=r"no sampling rate for muscle 1, angle; give rate_hz, or a time column"):
        read_recording(save(tmp_path, timed([str(i) for i in range(50)])), emg_mapping(2, None, first=2))
