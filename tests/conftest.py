"""Fixtures shared by all tests: where the open data are, and the gui marker."""

import os
from pathlib import Path

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

ROOT = Path(__file__).resolve().parents[1]


def _open_data() -> Path | None:
    named = os.environ.get("PHASEMARK_OPEN_DATA")
    folder = Path(named) if named else ROOT.parent / "shared" / "data"
    return folder if folder.is_dir() else None


@pytest.fixture(scope="session")
def open_data() -> Path:
    """The folder of open recordings that real-data tests read; they skip where it is absent."""
    folder = _open_data()
    if folder is None:
        pytest.skip("no open data here (set PHASEMARK_OPEN_DATA to its folder)")
    return folder


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of the window, so that the rest is the fast loop."""
    for item in items:
        if Path(__file__).parent / "window" in item.path.parents:
            item.add_marker(pytest.mark.gui)
