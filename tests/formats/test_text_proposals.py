"""The mapping that titles and units propose, and what they leave open."""

from collections.abc import Sequence
from pathlib import Path

import pytest
from text_files import lines_of, save, table

from phasemark.formats import preview_recording, read_recording
from phasemark.formats.mapping import EmgColumn, Mapping, MovementColumn, TimeColumn
from phasemark.formats.titles import split_title
from phasemark.model.errors import BadData
from phasemark.model.recording import Side


@pytest.mark.parametrize(
    ("title", "parts"),
    [
        ("RF_mV", ("RF", "mV")),
        ("Knee angle (deg)", ("Knee angle", "deg")),
        ("time [s]", ("time", "s")),
        ("t_ms", ("t", "ms")),
        ("Biceps femoris µV", ("Biceps femoris", "uV")),
        ("Vastus (μV)", ("Vastus", "uV")),
        ("Bar height, cm", ("Bar height", "cm")),
        ("knee_FX_deg", ("knee_FX", "deg")),
        ("RF / mV", ("RF", "mV")),
        ("angle [°]", ("angle", "deg")),
        ("Group V", ("Group V", "")),
        ("time s", ("time", "s")),
        ("Channel 5 (left)", ("Channel 5 (left)", "")),
        ("RF (mv)", ("RF (mv)", "")),
        ("mV", ("mV", "")),
        ("", ("", "")),
    ],
)
def test_name_and_unit_of_a_title(title: str, parts: tuple[str, str]) -> None:
    assert split_title(title) == parts


def preview_of(tmp_path: Path, *above: str, columns: int = 4) -> Path:
    values = table(100, columns)
    values[:, 0] = range(100)
    values[:, 0] /= 1000
    return save(tmp_path, "\n".join([*above, *lines_of(values, ";")]))


def test_complete_titles(tmp_path: Path) -> None:
    """Title and unit of each column and a time column: nothing else is needed."""
    path = preview_of(tmp_path, "time [s];Left RF (mV);RF right (µV);Knee angle (deg)")
    preview = preview_recording(path)
    assert preview.question == ""
    assert preview.proposed == Mapping(
        (EmgColumn(2, "RF", Side.LEFT, "mV"), EmgColumn(3, "RF", Side.RIGHT, "uV")),
        (MovementColumn(4, "Knee angle", "deg"),),
        None,
        TimeColumn(1, "s"),
    )
    recording = read_recording(path)
    assert recording.clock == 1000
    assert [channel.label for channel in recording.emg] == ["RF (left)", "RF (right)"]
    assert "Knee angle: larger values are taken as raised, as the mapping does not say" in recording.notes


@pytest.mark.parametrize(
    ("above", "problem"),
    [
        ((), "what column 1 holds"),
        (("time;RF (mV);BF (mV);angle (deg)",), "the unit of time"),
        (("sample (mV);RF (mV);BF (mV);angle (deg)",), "the sampling rate"),
        (("time (s);RF (mV);BF;angle (deg)",), r"what column 3 \(BF\) holds"),
        (("time (s);RF (mV);Trigger (V);angle (deg)",), r"what column 3 \(Trigger \(V\)\) holds"),
        (("time (s);RF (mV);Force (N);angle (deg)",), r"what column 3 \(Force \(N\)\) holds"),
        (("time (s);time (s);RF (mV);angle (deg)",), "which column is the time"),
        (("time (s);RF (mV);RF (mV);angle (deg)",), "which muscle is which"),
    ],
)
def test_what_titles_leave_open_is_asked_for(tmp_path: Path, above: Sequence[str], problem: str) -> None:
    """One sentence that names what is not known, and shows how to state it."""
    path = preview_of(tmp_path, *above)
    with pytest.raises(BadData, match=f"do not say .*{problem}.*give a mapping with --columns, such as .*version"):
        read_recording(path)
    assert preview_recording(path).question


def test_the_unit_from_the_title_where_the_mapping_has_none(tmp_path: Path) -> None:
    """A unit that the file states need not be stated again; one that nobody states is asked for."""
    path = preview_of(tmp_path, "time (s);RF (µV);BF;angle (deg)")
    recording = read_recording(path, Mapping((EmgColumn(2, "RF"),), (MovementColumn(4),), None, TimeColumn(1)))
    assert recording.emg[0].unit == "uV"
    assert recording.movement[0].unit == "deg"
    assert "RF: unit uV taken from the title" in recording.notes
    with pytest.raises(BadData, match=r"the unit of biceps \(column 3 \(BF\)\) is not known; state one of V, mV"):
        read_recording(path, Mapping((EmgColumn(3, "biceps"),), (), None, TimeColumn(1)))
