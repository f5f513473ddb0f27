"""What a command came to, and what most calls of `add` in these tests say of a recording."""

from collections.abc import Callable
from dataclasses import dataclass

ABOUT = ("--participant", "P01", "--exercise", "squat")


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
        assert "Traceback" not in self.err
        return lines[0]


Call = Callable[..., Said]


def no_window(_: str | None) -> int:
    raise AssertionError("no command of these tests opens a window")
