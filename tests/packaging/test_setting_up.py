"""The set-up scripts: what they say a system lacks, whom they install it for, and what they leave alone."""

import ast
import os
import shutil
import subprocess
import sys
from importlib import metadata
from pathlib import Path
from types import ModuleType

import pytest

PACKAGING = Path(__file__).resolve().parents[2] / "packaging"
LACKING = {"libEGL.so.1": "libegl1", "the program Xvfb": "xvfb"}


@pytest.fixture
def system(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    monkeypatch.syspath_prepend(str(PACKAGING))
    return __import__("system")


@pytest.fixture
def environment(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    monkeypatch.syspath_prepend(str(PACKAGING))
    return __import__("environment")


@pytest.fixture
def demo_study(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    monkeypatch.syspath_prepend(str(PACKAGING))
    return __import__("demo_study")


def _pretend(monkeypatch: pytest.MonkeyPatch, programs: dict[str, str], user: int) -> None:
    monkeypatch.setattr(shutil, "which", programs.get)
    monkeypatch.setattr(os, "geteuid", lambda: user, raising=False)


@pytest.mark.parametrize("script", ["demo.py", "test.py"])
def test_an_older_python_gets_as_far_as_the_sentence_that_refuses_it(script: str) -> None:
    """The two scripts parse by the grammar of Python 3.7, and import nothing that does not before they have asked."""
    tree = ast.parse((PACKAGING / script).read_text("utf-8"), feature_version=(3, 7))
    imported = {a.name for node in tree.body if isinstance(node, ast.Import | ast.ImportFrom) for a in node.names}
    assert imported <= {"argparse", "sys"}


def test_who_is_not_root_gets_the_one_command(system: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    _pretend(monkeypatch, {"apt-get": "/usr/bin/apt-get", "sudo": "/usr/bin/sudo"}, user=1000)
    with pytest.raises(SystemExit) as stopped:
        system.supply(LACKING)
    said = str(stopped.value)
    assert "libEGL.so.1" in said
    assert "sudo apt-get update && sudo apt-get install --yes --no-install-recommends libegl1 xvfb" in said


def test_without_sudo_the_command_is_for_su(system: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    _pretend(monkeypatch, {"apt-get": "/usr/bin/apt-get"}, user=1000)
    expected = "su -c 'apt-get update && apt-get install --yes --no-install-recommends libegl1'"
    assert system.install_command(["libegl1", "libegl1"]) == expected


def test_other_systems_are_told_what_is_missing(system: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    _pretend(monkeypatch, {}, user=0)
    with pytest.raises(SystemExit, match=r"lacks libEGL\.so\.1, the program Xvfb.*package manager"):
        system.supply(LACKING)


def test_root_on_debian_installs_each_package_once(system: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    _pretend(monkeypatch, {"apt-get": "/usr/bin/apt-get"}, user=0)
    calls: list[list[str]] = []

    def run(command: list[str], **_: object) -> subprocess.CompletedProcess[str]:
        calls.append(command)
        return subprocess.CompletedProcess(command, 0)

    monkeypatch.setattr(subprocess, "run", run)
    system.supply(LACKING | {"libGL.so.1": "libegl1"})
    assert [call[:2] for call in calls] == [["apt-get", "update"], ["apt-get", "install"]]
    assert calls[1][-2:] == ["libegl1", "xvfb"]


def test_nothing_missing_is_nothing_done(system: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """A library that cannot exist is missing; one that is always there is not; an empty list needs nobody."""
    _pretend(monkeypatch, {}, user=1000)
    system.supply({})
    monkeypatch.setattr(system, "QT_LIBRARIES", {"libno-such-library.so.9": "libnone9"})
    monkeypatch.setattr(system, "X_LIBRARIES", {"libc.so.6": "libc6"})
    monkeypatch.setattr(system, "_has_font", lambda: True)
    expected = {"libno-such-library.so.9": "libnone9"} if sys.platform == "linux" else {}
    assert system.lacking_for_window() == expected


def test_an_environment_of_another_hand_is_left_alone(environment: ModuleType, tmp_path: Path) -> None:
    theirs = tmp_path / ".venv"
    theirs.mkdir()
    (theirs / "kept.txt").write_text("mine", "utf-8")
    with pytest.raises(SystemExit, match="move it away"):
        environment._make(environment.Environment(theirs))
    assert (theirs / "kept.txt").read_text("utf-8") == "mine"


def test_a_change_of_python_or_project_asks_for_a_new_look(
    environment: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """What an environment was made for is the Python, the text of pyproject.toml and the extras."""
    monkeypatch.setattr(environment, "ROOT", tmp_path)
    (tmp_path / "pyproject.toml").write_text("[project]\n", "utf-8")
    first = environment._wanted("test")
    assert environment._wanted("test") == first != environment._wanted("")
    (tmp_path / "pyproject.toml").write_text("[project]\nname = 'x'\n", "utf-8")
    assert environment._wanted("test") != first


class _App:
    """Stands for the installed app: writes a study, or fails half-way."""

    def __init__(self, code: int = 0) -> None:
        self.code, self.runs = code, 0

    def program(self, name: str) -> str:
        return name

    def run(self, *words: str | Path) -> int:
        self.runs += 1
        study = Path(words[words.index("--to") + 1]) / "study"
        study.mkdir(parents=True)
        (study / "half").write_text(str(self.runs), "utf-8")
        return self.code


def test_a_whole_demo_study_is_kept_and_a_half_one_written_anew(demo_study: ModuleType, tmp_path: Path) -> None:
    app, to = _App(code=1), str(tmp_path / "demo")
    with pytest.raises(SystemExit):
        demo_study.written(app, to, again=False)
    app.code = 0
    study = demo_study.written(app, to, again=False)
    assert demo_study.written(app, to, again=False) == study
    assert app.runs == 2
    demo_study.written(app, to, again=True)
    assert (study / "half").read_text("utf-8") == "3"


def test_a_folder_with_other_things_is_never_written_over(demo_study: ModuleType, tmp_path: Path) -> None:
    (tmp_path / "demo").mkdir()
    (tmp_path / "demo" / "thesis.txt").write_text("mine", "utf-8")
    for again in (False, True):
        with pytest.raises(SystemExit, match="holds something else"):
            demo_study.written(_App(), str(tmp_path / "demo"), again=again)
    assert (tmp_path / "demo" / "thesis.txt").read_text("utf-8") == "mine"


def test_the_licence_is_the_bsd_one_and_lies_in_the_wheel() -> None:
    """Three clauses and the disclaimer, the same text in packaging/ and in what was installed."""
    text = (PACKAGING / "LICENSE.txt").read_text("utf-8")
    assert text.startswith("BSD 3-Clause License\n\nCopyright (c) ")
    assert [line[:2] for line in text.splitlines() if line[:1].isdigit()] == ["1.", "2.", "3."]
    assert 'PROVIDED BY THE COPYRIGHT HOLDERS AND CONTRIBUTORS "AS IS"' in text
    try:
        files = metadata.files("phasemark") or []
    except metadata.PackageNotFoundError:
        pytest.skip("the app is not installed here, so there is no wheel to look into")
    (installed,) = [file for file in files if file.name == "LICENSE.txt"]
    assert installed.read_text() == text
