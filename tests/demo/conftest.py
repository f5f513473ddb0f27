"""The invented study, made once for all tests of the demo, with and without disturbances."""

import pytest

from phasemark.demo import InventedTrial, invent


@pytest.fixture(scope="session")
def study() -> list[InventedTrial]:
    return list(invent())


@pytest.fixture(scope="session")
def clean() -> list[InventedTrial]:
    return list(invent(contaminated=False))
