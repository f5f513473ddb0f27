"""A way to call a command as a user does, and a marked study to call it on."""

import shutil
from pathlib import Path

import pytest
from calling import ABOUT, Call, Said, no_window
from written_recordings import Squats, mapping, write

from phasemark.cli import run


@pytest.fixture
def phasemark(capsys: pytest.CaptureFixture[str]) -> Call:
    """Run a command in this process."""

    def call(*arguments: object) -> Said:
        code = run([str(argument) for argument in arguments], no_window)
        said = capsys.readouterr()
        return Said(code, said.out, said.err)

    return call


@pytest.fixture(scope="session")
def _template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two trials of three squats each, added and marked by the commands."""
    folder = tmp_path_factory.mktemp("commands")
    squats = Squats()
    columns = mapping(folder / "columns.json", squats)
    files = [write(folder / f"{n}.txt", Squats(seed=n)) for n in (1, 2)]
    for arguments in (("new",), ("add", *files, *ABOUT, "--columns", columns), ("mark",)):
        command, *rest = arguments
        assert run([command, str(folder / "study"), *map(str, rest)], no_window) == 0
    return folder


@pytest.fixture
def study(_template: Path, tmp_path: Path) -> Path:
    """A marked study of this test's own; its recording 1.txt and columns.json lie beside it."""
    shutil.copytree(_template, tmp_path, dirs_exist_ok=True)
    return tmp_path / "study"
