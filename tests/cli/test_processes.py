"""Commands as processes of their own: without Qt, into pipes, beside each other, interrupted and killed."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from calling import ABOUT, Call
from written_recordings import Squats, mapping, write

from phasemark.store.check import check
from phasemark.store.folder import StudyFolder

pytestmark = pytest.mark.slow  # kept out of the fast loop

PATIENCE_S = 60
WITHOUT_QT = """
import sys
class Blocked:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("PySide6", "shiboken6", "pyqtgraph"):
            raise ImportError(f"{name} cannot load here")
sys.meta_path.insert(0, Blocked())
from phasemark.__main__ import main
sys.exit(main())
"""
COMMAND = (sys.executable, "-m", "phasemark")


def _run(*arguments: object, program: tuple[str, ...] = COMMAND, **how: object) -> "subprocess.CompletedProcess[str]":
    call = [*program, *(str(argument) for argument in arguments)]
    return subprocess.run(call, capture_output=True, text=True, timeout=PATIENCE_S, check=False, **how)  # type: ignore[call-overload,no-any-return]


def _shell(line: str, *arguments: object) -> "subprocess.CompletedProcess[str]":
    """Run a line of the shell in which $P is the program and $1, $2 the arguments."""
    words = ["bash", "-c", line, "bash", *(str(argument) for argument in arguments)]
    environment = os.environ | {"P": sys.executable}
    return subprocess.run(words, capture_output=True, text=True, timeout=PATIENCE_S, check=False, env=environment)


posix_only = pytest.mark.skipif(os.name == "nt", reason="pipes, signals and limits of POSIX")


def test_commands_work_where_qt_cannot_load(study: Path) -> None:
    """All but the window, which says so in a sentence."""
    program = (sys.executable, "-c", WITHOUT_QT)
    assert _run("measure", study, program=program).stdout == "Measured 2 trials.\n"
    assert _run("check", study, program=program).stdout == "Sound.\n"
    window = _run(program=program)
    assert window.returncode == 1
    assert window.stderr.startswith("The window cannot open, because Qt cannot be loaded (")
    assert len(window.stderr.splitlines()) == 1


@posix_only
@pytest.mark.parametrize(
    "line",
    ["$P -m phasemark settings $1 | head -1", "$P -m phasemark --help | true", "$P -m phasemark check $1 | true"],
)
def test_reader_that_goes_away_is_no_failure(study: Path, line: str) -> None:
    """Piped into head: no traceback, no complaint at the end, and the command's own exit code."""
    done = _shell(f"set -o pipefail; {line}", study)
    assert (done.returncode, done.stderr) == (0, "")


@posix_only
def test_command_whose_reader_is_gone_still_does_its_work(study: Path) -> None:
    """Both streams closed at once: the edit is made, and the exit code is that of the work."""
    done = _shell("set -o pipefail; $P -m phasemark settings $1 counted=2 phases.pause_s=0.3 2>&1 | true", study)
    assert done.returncode == 0
    assert "counted=2" in _run("settings", study).stdout.splitlines()


@posix_only
def test_output_that_cannot_be_written_is_said(study: Path) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    done = _shell("$P -m phasemark settings $1 > /dev/full", study)
    assert done.returncode == 1
    assert done.stderr == (
        "What the command has to say cannot be written (No space left on device); what it did is done.\n"
    )


def test_names_that_the_terminal_lacks_do_not_end_a_command(study: Path) -> None:
    """An encoding without umlauts gets escapes in their place."""
    environment = os.environ | {"PYTHONIOENCODING": "ascii:strict", "PYTHONUTF8": "0"}
    arguments = ("--participant", "Jürgen", "--exercise", "squat", "--columns", study.parent / "columns.json")
    done = _run("add", study, study.parent / "1.txt", *arguments, env=environment)
    assert done.returncode == 0
    assert done.stdout == "T003: 1.txt, participant J\\xfcrgen, 2 EMG at 1000 Hz, bar height at 100 Hz, 12.30 s\n"
    assert "Traceback" not in done.stderr


def test_second_process_is_told_who_holds_the_study(phasemark: Call, study: Path) -> None:
    holder = StudyFolder.open(study).folder
    try:
        done = _run("mark", study, "--again")
        assert done.returncode == 1
        assert f"(process {os.getpid()}) since" in done.stderr
        assert len(done.stderr.splitlines()) == 1
        assert _run("export", study, "--to", study.parent / "out").returncode == 0
    finally:
        holder.close()
    assert phasemark("mark", study, "--again").code == 0


@posix_only
def test_file_size_limit_is_a_sentence_and_loses_nothing(phasemark: Call, study: Path) -> None:
    """The limit of the system itself, where a recording would pass it."""
    recording = (study / "recordings" / "R0001.h5").stat().st_size
    line = f"ulimit -f {recording // 2048}; trap '' XFSZ; $P -m phasemark add $1 $2 {' '.join(ABOUT)} --columns $3"
    done = _shell(line, study, study.parent / "1.txt", study.parent / "columns.json")
    assert done.returncode == 1
    assert "R0003.h5 could not be written: it would exceed the size a file may have here" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert phasemark("check", study).out == "Sound.\n"
    assert phasemark("settings", study).out.count("\n") > 10


@posix_only
def test_full_file_system_is_a_sentence_and_loses_nothing(phasemark: Call, tmp_path: Path) -> None:
    """A file system of 256 KB, where that can be mounted."""
    small = tmp_path / "small"
    small.mkdir()
    mount = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", small], capture_output=True, check=False
    )
    if mount.returncode != 0:
        pytest.skip("no file system can be mounted here")
    try:
        squats = Squats(8)
        about = (*ABOUT, "--columns", mapping(tmp_path / "columns.json", squats))
        assert phasemark("new", small / "s").code == 0
        said = phasemark("add", small / "s", write(tmp_path / "1.txt", squats), *about)
        assert said.code == 1
        assert "there is no space left on the disk" in said.sentence
        assert phasemark("check", small / "s").out == "Sound.\n"
        assert not list((small / "s" / "recordings").iterdir())
    finally:
        subprocess.run(["umount", small], check=True)


def _begun(arguments: tuple[object, ...], until: Path, size: int) -> "subprocess.Popen[str]":
    """A command under way, once a file has grown beyond a size."""
    process = subprocess.Popen(
        [*COMMAND, *map(str, arguments)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    end = time.monotonic() + PATIENCE_S
    while process.poll() is None and until.stat().st_size <= size:
        assert time.monotonic() < end
        time.sleep(0.001)
    return process


@posix_only
@pytest.mark.parametrize("after_s", [0.0, 0.15, 0.3, 0.45])
def test_killed_while_marking_everything_is_whole(phasemark: Call, study: Path, after_s: float) -> None:
    """All trials are marked or none is; the study opens, is sound after that, and goes on."""
    file, columns = study.parent / "1.txt", study.parent / "columns.json"
    phasemark("add", study, *[file] * 4, *ABOUT, "--columns", columns)
    process = subprocess.Popen([*COMMAND, "mark", str(study), "--again"], stdout=subprocess.DEVNULL)
    time.sleep(0.35 + after_s)
    process.kill()
    process.wait()
    opened = StudyFolder.open(study)
    marked = [bool(trial.marks_of("R1").phase_rule) for trial in opened.study.trials]
    assert not opened.read_only
    opened.folder.close()
    assert marked in ([True] * 2 + [False] * 4, [True] * 6)
    assert check(study) == ()
    assert phasemark("mark", study, "--again").out.count("3 repetitions") == 6


@posix_only
def test_interrupted_command_says_so_in_one_line_and_keeps_the_study_whole(phasemark: Call, study: Path) -> None:
    """Control-C while many files are read."""
    squats = Squats(20, seed=3)
    big, columns = write(study.parent / "big.txt", squats), mapping(study.parent / "c.json", squats)
    there = set((study / "recordings").iterdir())
    process = _begun(("add", study, *[big] * 100, *ABOUT, "--columns", columns), study / "project.lock", -1)
    end = time.monotonic() + PATIENCE_S
    while set((study / "recordings").iterdir()) == there:  # until the first of them is being written
        assert time.monotonic() < end
        time.sleep(0.001)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 1
    assert said.splitlines() == ["Stopped; what was done before is kept."]
    assert check(study) == ()
    assert phasemark("mark", study, "--again").out.count("T00") == 2
