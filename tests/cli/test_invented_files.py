"""Text files nobody looked at: other dialects and rates, from file to segments, against how they were invented."""

import re
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from calling import Call
from written_recordings import Squats, mapping, write


@dataclass(frozen=True)
class Dialect:
    squats: Squats
    how: dict[str, Any] = field(default_factory=dict)


DIALECTS = {
    "tabs without titles": Dialect(Squats()),
    "comma with a time column at 1259.259 Hz beside movement at 148.148 Hz": Dialect(
        Squats(emg_hz=Decimal("1259.259"), movement_hz=Decimal("148.148")),
        {"separator": ",", "time": True, "titles": True},
    ),
    "semicolons, decimal commas, umlauts, CRLF and a byte-order mark at 2148.1481 Hz": Dialect(
        Squats(4, Decimal("2148.1481"), Decimal("74.0741")),
        {
            **{"separator": ";", "point": ",", "titles": True, "end": "\r\n", "encoding": "utf-8-sig"},
            "preamble": ("Gerät; Nr. 7", "Größe: 1,80 m", ""),
        },
    ),
    "blanks in UTF-16 at 1111.11 Hz beside movement at the same rate": Dialect(
        Squats(emg_hz=Decimal("1111.11"), movement_hz=Decimal("1111.11")),
        {"separator": " ", "encoding": "utf-16", "titles": False},
    ),
    "movement faster than EMG would need": Dialect(Squats(2, Decimal(1000), Decimal(1000)), {"separator": ","}),
    "low rate of movement": Dialect(Squats(5, Decimal(4000), Decimal(25)), {"titles": True}),
}


@pytest.mark.parametrize("name", DIALECTS)
def test_any_dialect_and_rate_comes_through_the_whole_chain(name: str, phasemark: Call, tmp_path: Path) -> None:
    """Every repetition, turning points within 0.05 s, and the RMS that each phase was invented with."""
    squats, how = DIALECTS[name].squats, DIALECTS[name].how
    file = write(tmp_path / "Übung 1.txt", squats, **how)
    columns = mapping(tmp_path / "columns.json", squats, time=how.get("time", False))
    study = tmp_path / "study"
    assert phasemark("new", study).code == 0
    added = phasemark("add", study, file, "--participant", "P01", "--exercise", "squat", "--columns", columns)
    assert added.code == 0, added.err
    assert phasemark("mark", study).out == f"T001: {squats.reps} repetitions (P01, squat)\n"
    assert phasemark("export", study, "--to", tmp_path / "out").code == 0

    marks = pd.read_csv(tmp_path / "out" / "marks.csv")
    times = marks[marks["boundary"].isin(["begin", "end"])].groupby("rep")["time_s"].apply(sorted)
    expected = [(begin, turn, turn, end) for begin, turn, end in squats.turns()]
    np.testing.assert_allclose(np.array(times.tolist()), expected, atol=0.05)

    segments = pd.read_csv(tmp_path / "out" / "segments.csv")
    assert len(segments) == squats.reps * 10 * 2
    whole = segments[segments["third"] == "whole"].groupby("phase")["rms_mV"].mean()
    # White noise up to half the rate, of which the band-pass leaves 430 Hz.
    left = np.sqrt(430 / (float(squats.emg_hz) / 2))
    assert whole["lowering"] == pytest.approx(0.1 * left, rel=0.07)
    assert whole["raising"] == pytest.approx(0.2 * left, rel=0.07)


def test_file_that_says_itself_what_it_holds_needs_no_mapping(phasemark: Call, tmp_path: Path) -> None:
    """Titles with units and a time column are enough; without them the sentence says what is missing."""
    squats = Squats(2, movement_hz=Decimal(1000))
    known = write(tmp_path / "known.csv", squats, separator=",", time=True, titles=True)
    unknown = write(tmp_path / "unknown.csv", squats, separator=",")
    about = ("--participant", "P01", "--exercise", "squat")
    phasemark("new", tmp_path / "study")
    refused = phasemark("add", tmp_path / "study", unknown, *about)
    assert refused.code == 1
    assert "unknown.csv" in refused.sentence
    added = phasemark("add", tmp_path / "study", known, *about)
    assert added.code == 0
    assert re.fullmatch(
        r"T001: known\.csv, participant P01, 2 EMG at 1000 Hz, height at 1000 Hz, \d+\.\d\d s\n", added.out
    )
    assert added.sentence.startswith("known.csv: height: larger values are taken as raised")
    assert phasemark("mark", tmp_path / "study").out == "T001: 2 repetitions (P01, squat)\n"


def test_gap_is_said_and_stays_a_gap(phasemark: Call, tmp_path: Path) -> None:
    """Empty cells in one muscle: the segments that lose over 10 % of their samples have no value there."""
    squats = Squats(2)
    file = write(tmp_path / "gap.csv", squats, separator=",")
    lines = file.read_text("utf-8").splitlines()
    for row in range(1600, 2600):
        lines[row] = "," + lines[row].split(",", 1)[1]
    file.write_text("\n".join(lines) + "\n", "utf-8")
    study = tmp_path / "study"
    phasemark("new", study)
    columns = mapping(tmp_path / "columns.json", squats)
    added = phasemark("add", study, file, "--participant", "P01", "--exercise", "squat", "--columns", columns)
    assert added.code == 0
    assert "vastus medialis" in added.err
    phasemark("mark", study)
    phasemark("export", study, "--to", tmp_path / "out")
    segments = pd.read_csv(tmp_path / "out" / "segments.csv", keep_default_na=False)
    lost = segments[segments["note"] == "under 90 % valid samples"]
    assert set(lost["muscle"]) == {"vastus medialis"}
    assert set(lost["rep"]) == {1}
    assert set(lost["rms_mV"]) == {""}
    assert "lowering" in set(lost["phase"])
