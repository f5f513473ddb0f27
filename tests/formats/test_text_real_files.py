"""Real trials: EMG Dataset in Lower Limb, Sanchez and Sotelo (2014), UCI, doi 10.24432/C5ZW3P."""

import hashlib
import json
import re
from pathlib import Path

import numpy as np
import pytest

from phasemark.formats import preview_recording, read_recording
from phasemark.formats.mapping import Mapping
from phasemark.formats.mapping_json import parse_mapping
from phasemark.model.errors import BadData

MUSCLES = ["rectus femoris", "biceps femoris", "vastus medialis", "semitendinosus"]


def knee_mapping(angle_rate: int = 1000) -> Mapping:
    emg = [{"column": j, "muscle": muscle, "unit": "mV"} for j, muscle in enumerate(MUSCLES, 1)]
    angle = {"column": 5, "kind": "knee angle", "unit": "deg", "up": "larger", "rate_hz": angle_rate}
    return parse_mapping({"version": 1, "rate_hz": 1000, "emg": emg, "movement": angle, "time": None})


def rows_by_hand(path: Path) -> list[list[str]]:
    """Cells of the rows below the blank line, by nothing but split."""
    text = path.read_text("latin-1").split("\n\n", 1)[1]
    return [line.split("\t") for line in text.split("\n") if line.strip("\t")]


def test_every_trial_reads_as_its_own_header_says(open_data: Path) -> None:
    """As many samples of EMG and angle as the header declares, and each value as float() reads its cell."""
    trials = sorted((open_data / "knee_emg").glob("*.txt"))
    assert len(trials) > 20
    for path in trials:
        header = path.read_text("latin-1").split("\n\n", 1)[0]
        declared = [int(count) for count in re.findall(r"', (\d+) values", header)]
        slow = "50 to 1000" in header
        recording = read_recording(path, knee_mapping(50 if slow else 1000))
        rows = rows_by_hand(path)
        assert [len(v) for v in recording.emg_values] == declared[:4]
        assert len(recording.movement_values[0]) == declared[4]
        for j, values in enumerate(recording.emg_values):
            assert values.tolist() == [float(row[j]) for row in rows[: len(values)]]
        step = 20 if slow else 1
        angles = [float(row[4]) for row in rows if row[4]]
        assert recording.movement_values[0].tolist() == angles[::step]


def test_angle_that_outlasts_the_emg(open_data: Path) -> None:
    """3Npie ends in 21 rows with an angle only; at the rows' rate the angle keeps them."""
    recording = read_recording(open_data / "knee_emg" / "3Npie.txt", knee_mapping())
    assert [len(v) for v in recording.emg_values] == [9539] * 4
    assert len(recording.movement_values[0]) == 9560
    assert f"{', '.join(MUSCLES)}: end at 9.539 s, 0.021 s before the longest trace" in recording.notes


def test_angle_missing_in_the_last_row(open_data: Path) -> None:
    """4Nsen: the EMG has one row more."""
    recording = read_recording(open_data / "knee_emg" / "4Nsen.txt", knee_mapping())
    assert (len(recording.emg_values[0]), len(recording.movement_values[0])) == (15601, 15600)


def test_a_column_that_is_not_there_and_one_that_is(open_data: Path) -> None:
    """Only the 9A trials have a sixth column."""
    mapping = parse_mapping({"version": 1, "rate_hz": 1000, "movement": {"column": 6, "kind": "switches"}})
    assert set(read_recording(open_data / "knee_emg" / "9Asen.txt", mapping).movement_values[0]) <= set(range(32))
    with pytest.raises(BadData, match=r"5Asen.txt: there is no column 6 \(movement 1\); the file has 5 columns"):
        read_recording(open_data / "knee_emg" / "5Asen.txt", mapping)


def test_semicolons_and_decimal_commas_equal_the_tabs(open_data: Path) -> None:
    """The same trial written another way, read without a mapping, from its titles and times alone."""
    path = open_data / "knee_emg_other_formats" / "5Asen_semicolon_decimalcomma.csv"
    other = read_recording(path)
    plain = read_recording(open_data / "knee_emg" / "5Asen.txt", knee_mapping())
    assert other.clock == plain.clock == 1000
    for ours, theirs in zip(other.emg_values, plain.emg_values, strict=True):
        np.testing.assert_array_equal(ours, theirs)
    np.testing.assert_array_equal(other.movement_values[0], plain.movement_values[0])
    assert other.source.file == path.name
    assert other.source.format == "text"
    assert other.source.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert parse_mapping(json.loads(other.source.reading)) == preview_recording(path).proposed


def test_bar_turned_by_hand(open_data: Path) -> None:
    """Pezzack, Norman and Winter (1977), J Biomech 10:377-382: 142 rows, 0.0201 s apart, parted by tabs or blanks."""
    movement = [{"column": 2, "kind": "bar angle", "unit": "rad", "up": "larger"}]
    mapping = parse_mapping({"version": 1, "movement": movement, "time": 1})
    recording = read_recording(open_data / "epos" / "epos.txt", mapping)
    assert len(recording.movement_values[0]) == 142
    assert float(recording.clock) == pytest.approx(1 / 0.0201, rel=1e-12)


def test_the_lists_beside_the_trials_are_no_recordings(open_data: Path) -> None:
    """Tables of words and numbers: the column of words is refused by name."""
    with pytest.raises(BadData, match=r"INDEX.csv, line 2, column 1 \(file\): the column holds text"):
        read_recording(open_data / "knee_emg" / "INDEX.csv", knee_mapping())
