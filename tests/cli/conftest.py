"""A way to call a command as a user does: its exit code and what it says on both streams."""

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from phasemark.cli import run


@dataclass(frozen=True)
class Said:
    """What a command came to: exit code, what it printed, and what it warned or complained of."""

    code: int
    out: str
    err: str

    @property
    def sentence(self) -> str:
        """The one sentence a command that failed has said; fails where it said none, or more."""
        lines = self.err.splitlines()
        assert len(lines) == 1, self.err
        assert lines[0].rstrip().endswith("."), self.err
        assert "Traceback" not in self.err
        return lines[0]


Call = Callable[..., Said]


def _no_window(_: str | None) -> int:
    raise AssertionError("no command of these tests opens a window")


@pytest.fixture
def phasemark(capsys: pytest.CaptureFixture[str]) -> Call:
    """Run a command in this process."""

    def call(*arguments: object) -> Said:
        code = run([str(argument) for argument in arguments], _no_window)
        said = capsys.readouterr()
        return Said(code, said.out, said.err)

    return call
