"""What goes wrong: one sentence that names file, place and mend; the right exit code; nothing lost."""

import errno
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from calling import ABOUT, Call
from filelock import FileLock

from phasemark.store import disk
from phasemark.store.disk import System

pytestmark = pytest.mark.slow  # kept out of the fast loop


def _state(folder: Path) -> dict[str, bytes]:
    """All files of a study but the lock's."""
    files = (p for p in folder.rglob("*") if p.is_file() and not p.name.startswith("project.lock"))
    return {str(p.relative_to(folder)): p.read_bytes() for p in files}


def _add(phasemark: Call, study: Path, content: bytes | None, columns: object = None) -> str:
    """Add a file with this content; the sentence it is refused with. The study must stay as it was."""
    file = study.parent / "given.txt"
    if content is not None:
        file.write_bytes(content)
    mapping = study.parent / "columns.json"
    if columns is not None:
        mapping = study.parent / "given.json"
        mapping.write_text(columns if isinstance(columns, str) else json.dumps(columns), "utf-8")
    before = _state(study)
    said = phasemark("add", study, file, *ABOUT, "--columns", mapping)
    assert said.code == 1
    assert _state(study) == before
    return said.sentence


def _good(study: Path) -> bytes:
    return (study.parent / "1.txt").read_bytes()


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "given.txt is empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00", "given.txt"),
        (b"Dear colleague,\nhere is what you asked for.\n", "given.txt"),
        (None, "given.txt"),
    ],
    ids=["empty", "a picture", "a letter", "missing"],
)
def test_what_is_no_recording_is_refused(phasemark: Call, study: Path, content: bytes | None, sentence: str) -> None:
    assert sentence in _add(phasemark, study, content)


def test_text_in_a_number_names_line_and_column(phasemark: Call, study: Path) -> None:
    lines = _good(study).split(b"\n")
    lines[500] = b"0.1\tbroken\t1.0"
    found = _add(phasemark, study, b"\n".join(lines))
    assert "given.txt, line 501" in found
    assert "broken" in found
    assert "2" in found


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"emg": [{"column": 9, "muscle": "soleus", "unit": "mV"}]}, "9"),
        ({"emg": [{"column": "EMG 3", "muscle": "soleus", "unit": "mV"}]}, "EMG 3"),
        ({"emg": [{"column": 1, "muscle": "soleus", "unit": "furlong"}]}, "furlong"),
        ({"emg": [{"column": 1, "muscle": "soleus", "unit": "counts"}]}, "gain"),
        ({"rate_hz": 0}, "above zero"),
        ({"rate_hz": -5}, "above zero"),
        ({"rate_hz": "fast"}, "rate_hz"),
        ({"emg": [], "movement": []}, "no emg and no movement"),
        ({"version": 7}, "version"),
    ],
)
def test_mapping_that_does_not_fit_says_where(
    phasemark: Call, study: Path, change: dict[str, object], sentence: str
) -> None:
    plain = json.loads((study.parent / "columns.json").read_text("utf-8"))
    found = _add(phasemark, study, _good(study), plain | change)
    assert sentence in found
    assert "given" in found  # the file of the mapping or of the recording


@pytest.mark.parametrize(
    ("text", "sentence"), [("{", "is not valid JSON"), ('["a"]', "must be an object"), ("", "is not valid JSON")]
)
def test_mapping_that_is_none_names_its_file(phasemark: Call, study: Path, text: str, sentence: str) -> None:
    found = _add(phasemark, study, _good(study), text)
    assert "given.json" in found
    assert sentence in found


def test_mapping_that_is_missing_names_its_file(phasemark: Call, study: Path) -> None:
    said = phasemark("add", study, study.parent / "1.txt", *ABOUT, "--columns", study.parent / "gone.json")
    assert said.code == 1
    assert "gone.json cannot be read" in said.sentence


def test_one_bad_file_of_three_leaves_all_out_and_a_line_for_each_bad_one(phasemark: Call, study: Path) -> None:
    (study.parent / "bad.txt").write_bytes(b"")
    before = _state(study)
    files = [study.parent / name for name in ("1.txt", "bad.txt", "gone.txt")]
    said = phasemark("add", study, *files, *ABOUT, "--columns", study.parent / "columns.json")
    assert said.code == 1
    lines = said.err.splitlines()
    assert len(lines) == 2
    assert "bad.txt" in lines[0]
    assert "gone.txt" in lines[1]
    assert lines[1].endswith("Nothing was added.")
    assert _state(study) == before


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (("add", "1.txt", "--participant", " ", "--exercise", "x"), "participant"),
        (("add", "1.txt", "--participant", "P"), "needs its exercise"),
        (("add", "1.txt", *ABOUT, "--load", "heavy"), "such as '60 kg', not 'heavy'"),
        (("add", "1.txt", *ABOUT, "--factor", "wide"), "NAME=VALUE, not 'wide'"),
        (("add", "1.txt", *ABOUT, "--factor", "a=1", "--factor", "a=2"), "factor a is given twice"),
        (("add", "1.txt", *ABOUT, "--set", "0"), "numbered from 1, not 0"),
        (("add", "1.txt", *ABOUT, "--order", "-1"), "numbered from 1, not -1"),
        (("settings", "filter.lowpas=3"), "no setting 'filter.lowpas'"),
        (("settings", "filter.lowpass_hz"), "is given as KEY=VALUE"),
        (("settings", "filter.lowpass_hz=wide"), "filter.lowpass_hz is a number, not 'wide'"),
        (("settings", "filter.order=5"), "2, 4, 6 or 8"),
        (("settings", "filter.highpass_hz=nan"), "above zero"),
        (("settings", "counted=0"), "from 1"),
        (("settings", "first_phase[squat]=down"), "lowering, raising, not 'down'"),
        (("settings", "phases.thirds=halves"), "one of rep, trial, time, none, or two levels"),
        (("exclude", "--trial", "T9", "--reason", "x"), "no trial 'T9' in this study; its trials are T001, T002"),
        (("exclude", "--trial", "T001", "--rep", "4", "--reason", "x"), "no repetition 4; it has 3 complete ones"),
        (("exclude", "--trial", "T001", "--muscle", "soleus", "--reason", "x"), "no muscle 'soleus'; its muscles are"),
        (("exclude", "--trial", "T001", "--side", "left", "--reason", "x"), "--side belongs to --muscle"),
        (("exclude", "--trial", "T001", "--reason", " "), "needs its reason"),
        (
            ("exclude", "--trial", "T001", "--rater", "R9", "--reason", "x"),
            "no rater 'R9' in this study; its raters are R1",
        ),
        (("measure", "--rater", "R9"), "no rater 'R9'"),
        (("export", "--to", "1.txt"), "1.txt is a file; name a folder"),
    ],
)
def test_unknown_name_or_value_is_said_with_those_there_are(
    phasemark: Call, study: Path, call: tuple[str, ...], sentence: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(study.parent)
    before = _state(study)
    said = phasemark(call[0], study, *call[1:])
    assert said.code == 2
    assert sentence in said.sentence
    assert _state(study) == before


def test_filter_that_does_not_fit_a_recording_is_refused_with_what_would(phasemark: Call, study: Path) -> None:
    said = phasemark("settings", study, "filter.lowpass_hz=600")
    assert said.code == 1
    assert "does not fit vastus medialis (left), sampled at 1000 Hz: it must be below 500 Hz; 450 Hz" in said.sentence
    assert "filter.lowpass_hz=450.0" in phasemark("settings", study).out


# The study itself


@pytest.mark.parametrize("command", ["add", "settings", "mark", "exclude", "measure", "export", "check"])
@pytest.mark.parametrize("what", ["missing", "a file", "an empty folder"])
def test_what_is_no_study_is_refused_by_every_command(phasemark: Call, tmp_path: Path, command: str, what: str) -> None:
    place = tmp_path / "place"
    if what == "a file":
        place.write_text("mine")
    elif what == "an empty folder":
        place.mkdir()
    (tmp_path / "1.txt").write_text("1\n2\n")
    rest = {
        "add": (tmp_path / "1.txt", *ABOUT),
        "exclude": ("--trial", "T001", "--reason", "x"),
        "export": ("--to", tmp_path / "out"),
    }.get(command, ())
    said = phasemark(command, place, *rest)
    assert said.code == 1
    assert "place" in said.sentence
    assert ("does not exist" if what == "missing" else "is not a study") in said.sentence
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted({"1.txt", *(["place"] if what != "missing" else [])})


@pytest.mark.parametrize("what", ["a study", "a file", "other files"])
def test_new_study_is_never_made_over_something(phasemark: Call, study: Path, what: str) -> None:
    place = {"a study": study, "a file": study.parent / "1.txt", "other files": study.parent}[what]
    before = _state(study.parent)
    said = phasemark("new", place)
    assert said.code == 2
    assert str(place) in said.sentence
    assert _state(study.parent) == before


def test_damaged_project_file_is_rebuilt_and_said(phasemark: Call, study: Path) -> None:
    """By the next command that writes; what was damaged is kept; settings and marks are as they were."""
    before = phasemark("settings", study, "counted=2").out
    data = bytearray((study / "project.h5").read_bytes())
    data[len(data) // 2] ^= 0xFF
    (study / "project.h5").write_bytes(data)
    assert phasemark("check", study).code == 1
    looked = phasemark("settings", study)
    assert (looked.code, looked.out) == (0, before)
    assert "project.h5 is damaged" in looked.sentence
    said = phasemark("measure", study)
    assert (said.code, said.out) == (0, "Measured 2 trials.\n")
    assert "was rebuilt from" in said.sentence
    assert phasemark("check", study).out == "Sound.\n"
    assert any(bytes(data) == p.read_bytes() for p in study.glob("project.damaged*"))


def test_torn_ledger_line_is_cut_off_kept_and_said(phasemark: Call, study: Path) -> None:
    with (study / "ledger.jsonl").open("ab") as file:
        file.write(b'{"sequence": 99, "sche')
    assert phasemark("check", study).code == 1
    said = phasemark("measure", study)
    assert said.code == 0
    assert "never finished" in said.sentence
    assert len(list(study.glob("ledger.torn*"))) == 1
    assert phasemark("check", study).out == "Sound.\n"


def test_damaged_line_in_the_middle_makes_the_study_read_only(phasemark: Call, study: Path) -> None:
    """Commands that write say which line; settings can be read and what there is can be exported, with a warning."""
    whole = (study / "ledger.jsonl").read_bytes()
    phasemark("settings", study, "counted=2")
    (study / "project.h5").unlink()
    for older in study.glob("project.h5.*"):
        older.unlink()
    lines = (study / "ledger.jsonl").read_bytes().split(b"\n")
    place = len(whole.split(b"\n")) - 3
    lines[place] = lines[place].replace(b"T00", b"T99", 1)
    (study / "ledger.jsonl").write_bytes(b"\n".join(lines))
    before = _state(study)
    for call in (("mark",), ("measure",), ("settings", "counted=1"), ("exclude", "--trial", "T001", "--reason", "x")):
        said = phasemark(call[0], study, *call[1:])
        assert said.code == 1
        assert f"ledger.jsonl, line {place + 1}, is damaged" in said.sentence
    assert phasemark("settings", study).code == 0
    exported = phasemark("export", study, "--to", study.parent / "out")
    assert exported.code == 0
    assert f"line {place + 1}, is damaged" in exported.err
    assert _state(study) == before
    assert phasemark("check", study).code == 1


def test_missing_and_changed_recordings_are_said(phasemark: Call, study: Path) -> None:
    recording = study / "recordings" / "R0001.h5"
    data = recording.read_bytes()
    recording.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))
    said = phasemark("measure", study)
    assert said.code == 1
    assert "R0001.h5 has changed" in said.sentence
    recording.unlink()
    for command in ("measure", "export"):
        said = phasemark(command, study, *(("--to", study.parent / "out") if command == "export" else ()))
        assert said.code == 1
        assert "R0001.h5 is missing; put it back" in said.sentence
    assert "R0001.h5 is missing" in phasemark("check", study).out
    recording.write_bytes(data)
    assert phasemark("measure", study).out == "Measured 1 trial.\n"


def test_locked_study_is_read_but_not_written(phasemark: Call, study: Path) -> None:
    """Someone else has it open: commands that write say so; settings, check and export work, which is said."""
    with FileLock(study / "project.lock"):
        before = _state(study)
        for call in (("mark", "--again"), ("measure",), ("settings", "counted=1")):
            said = phasemark(call[0], study, *call[1:])
            assert said.code == 1
            assert f"{study} is open" in said.sentence
        assert phasemark("settings", study).err == ""
        assert phasemark("check", study).out == "Sound.\n"
        exported = phasemark("export", study, "--to", study.parent / "out")
        assert exported.code == 0
        assert f"{study} is open" in exported.sentence
        assert _state(study) == before
    free = phasemark("export", study, "--to", study.parent / "out2")
    assert free.err == ""
    assert (study.parent / "out" / "segments.csv").read_bytes() == (study.parent / "out2" / "segments.csv").read_bytes()


# A disk that says no


class _Refusing(System):
    def __init__(self, refuse: Callable[[Path], bool], number: int) -> None:
        self._refuse, self._number = refuse, number

    def open(self, path: Path, flags: int) -> int:
        if self._refuse(path):
            raise OSError(self._number, "refused")
        return super().open(path, flags)

    def make_folder(self, path: Path) -> None:
        if self._refuse(path):
            raise OSError(self._number, "refused")
        super().make_folder(path)


WORDS = {errno.ENOSPC: "no space left", errno.EACCES: "no permission", errno.EROFS: "read-only", errno.EFBIG: "size"}


@pytest.mark.parametrize("number", WORDS, ids=["no space", "no permission", "read-only disk", "file too big"])
@pytest.mark.parametrize(
    "case",
    [
        (("add", "1.txt", *ABOUT, "--columns", "columns.json"), "R0003.h5"),
        (("measure",), "project.h5"),
        (("mark", "--again"), "ledger.jsonl"),
        (("settings", "counted=2"), "ledger.jsonl"),
        (("exclude", "--trial", "T001", "--reason", "x"), "project.lock"),
        (("export", "--to", "out"), "marks.csv"),
        (("export", "--to", "out"), "out"),
    ],
)
def test_refusal_of_the_disk_is_one_sentence_and_loses_nothing(
    phasemark: Call, study: Path, monkeypatch: pytest.MonkeyPatch, case: tuple[tuple[str, ...], str], number: int
) -> None:
    call, refused = case
    monkeypatch.chdir(study.parent)
    before = _state(study)
    with monkeypatch.context() as patch:
        patch.setattr(disk, "system", _Refusing(lambda p: p.name.startswith(refused), number))
        said = phasemark(call[0], study, *call[1:])
    assert said.code == 1
    assert refused in said.sentence
    assert WORDS[number] in said.sentence
    after = _state(study)
    if call[0] == "measure":  # the ledger says that it was measured
        assert after.pop("ledger.jsonl").startswith(before.pop("ledger.jsonl"))
    assert call[0] == "export" or after == before
    assert phasemark("check", study).out == "Sound.\n"
    assert phasemark(call[0], study, *call[1:]).code == 0


def test_edit_whose_ledger_line_cannot_be_synced_is_said_and_not_pretended(
    phasemark: Call, study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The command ends with code 1, and the study is as it was; the next command finds it sound."""

    class NoSync(System):
        def write(self, descriptor: int, data: memoryview) -> int:
            if b'"counted"' in bytes(data) and b'"gesture"' in bytes(data):
                raise OSError(errno.ENOSPC, "refused")
            return super().write(descriptor, data)

    before = phasemark("settings", study).out
    with monkeypatch.context() as patch:
        patch.setattr(disk, "system", NoSync())
        said = phasemark("settings", study, "counted=2")
    assert said.code == 1
    assert "An edit could not be written" in said.sentence
    assert "no space left" in said.sentence
    assert phasemark("settings", study).out == before
    assert phasemark("check", study).out == "Sound.\n"
