"""A marked study of two trials, written once and copied for each test."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from small_study import Open, arrival, new, reopened


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that the others are copies of: two trials of three reps each, marked, not measured."""
    folder = tmp_path_factory.mktemp("template") / "study"
    at = new(folder)
    at.add(arrival(0), arrival(1, "P02"))
    at.mark()
    at.session.close()
    return folder


@pytest.fixture
def opened() -> Iterator[Callable[..., Open]]:
    """Open studies that are closed again after the test, whatever happened in it."""
    held: list[Open] = []

    def open_one(path: Path, **how: bool) -> Open:
        held.append(reopened(path, **how))
        return held[-1]

    yield open_one
    for at in held:
        if at.session.folder._lock is not None or not at.session.worker._stopped:
            at.session.close()


@pytest.fixture
def folder(template: Path, tmp_path: Path) -> Path:
    """A marked study of this test's own."""
    shutil.copytree(template, tmp_path / "study")
    return tmp_path / "study"


@pytest.fixture
def at(folder: Path, opened: Callable[..., Open]) -> Open:
    """The marked study, open."""
    return opened(folder)
