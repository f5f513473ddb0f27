"""Set up Phasemark in a virtual environment and open its invented demo study.

    python3 packaging/demo.py [--to DIR] [--no-window]

Writes the study to DIR (default: build/demo in the checkout), marks, measures and exports it, and opens the window
where there is a screen. Needs nothing but Python 3.11 or newer.
"""

import argparse
import sys

OLDEST = (3, 11)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Set Phasemark up and open its invented demo study.")
    parser.add_argument("--to", metavar="DIR", help="where the demo study is written (default: build/demo)")
    parser.add_argument("--no-window", action="store_true", help="write the study and its results, open no window")
    return parser.parse_args()


def main() -> int:
    """Set up and run the demo; the exit code of the demo."""
    if sys.version_info < OLDEST:
        sys.exit(
            f"Phasemark needs Python 3.11 or newer, and this is Python {sys.version_info[0]}.{sys.version_info[1]}."
        )
    arguments = _arguments()
    import system

    window = system.has_screen() and not arguments.no_window
    system.supply(system.lacking_for_environment())
    lacking = system.lacking_for_window()
    if window or system.can_install():
        system.supply(lacking)
    import environment

    made = environment.prepare(".venv")
    complaint = environment.qt_complaint(made) if window else ""
    if complaint:
        print(complaint + ". The demo goes on without a window.", file=sys.stderr)
        window = False
    folder = arguments.to or environment.working_folder() / "build" / "demo"
    code = made.run("phasemark", "demo", "--to", folder, *([] if window else ["--no-window"]))
    program = made.program("phasemark")
    print("Phasemark is installed as " + str(program), flush=True)
    if lacking and not window and not system.can_install():
        print("To open its window: " + system.how_to_mend(lacking))
    return code


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit(130)
