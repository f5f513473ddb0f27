"""What can be said to a person in one sentence: which file, where in it, and what to do."""


class PhasemarkError(Exception):
    """Base of every expected failure; its text is one whole sentence for the user."""

    exit_code = 1


class BadData(PhasemarkError, ValueError):
    """The data say no: a file, a recording or a study cannot be used as it is (exit code 1)."""


class BadCall(PhasemarkError, ValueError):
    """The request itself is wrong: an unknown name, an impossible setting (exit code 2)."""

    exit_code = 2


class Unavailable(PhasemarkError, OSError):
    """The disk or another process says no: locked, no permission, no space (exit code 1)."""


class Cancelled(PhasemarkError):
    """The user stopped a long piece of work; nothing of it was kept."""
