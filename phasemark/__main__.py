"""The two ways in: commands, and the window. The only place that knows both."""

import sys
from io import TextIOWrapper


def main() -> int:
    """Run a command; without one, open the window."""
    from phasemark.cli import run

    if isinstance(sys.stdout, TextIOWrapper):  # a name that the terminal's encoding lacks must not end a command
        sys.stdout.reconfigure(errors="backslashreplace")
    return run(sys.argv[1:], open_window)


def window() -> int:
    """Open the window, on the study named as the only argument if there is one."""
    return open_window(sys.argv[1] if len(sys.argv) > 1 else None)


def open_window(study: str | None) -> int:
    """Open the window; where no Qt library can load, one sentence says so."""
    try:
        from phasemark.window.app import run_window
    except ImportError as problem:
        print(
            f"The window cannot open, because Qt cannot be loaded ({problem}); the commands work without it, "
            "see 'phasemark --help'.",
            file=sys.stderr,
        )
        return 1
    return run_window(study)


if __name__ == "__main__":
    sys.exit(main())
