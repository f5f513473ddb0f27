"""The tests of the store do not wait for the disk itself.

What a killed process has written survives it without a sync, and no test takes the power away; so syncs are
asked for, counted and refused where a test says so, but not waited for. Writers in processes of their own
sync for real.
"""

import os
from collections.abc import Iterator

import pytest

from phasemark.store.disk import System


@pytest.fixture(scope="session", autouse=True)
def without_waiting_for_the_disk() -> Iterator[None]:
    """A sync only asks whether the descriptor is open."""
    patch = pytest.MonkeyPatch()
    patch.setattr(System, "fsync", lambda _, descriptor: os.fstat(descriptor) and None)
    yield
    patch.undo()
