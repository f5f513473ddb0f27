"""Set up Phasemark in a virtual environment and open its invented demo study.

    python3 packaging/demo.py [--to DIR] [--again] [--no-window]

Writes the study to DIR (default: build/demo in the checkout), marks, measures and exports it, and opens the window
where there is a screen. A study that an earlier run has written is opened as it was left; --again writes it anew.
Needs nothing but Python 3.11 or newer.
"""

import argparse
import sys

OLDEST = (3, 11)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Set Phasemark up and open its invented demo study.")
    parser.add_argument("--to", metavar="DIR", help="where the demo study is written (default: build/demo)")
    parser.add_argument("--again", action="store_true", help="write the study of an earlier run anew")
    parser.add_argument("--no-window", action="store_true", help="write the study and its results, open no window")
    return parser.parse_args()


def main() -> int:
    """Set up, write the demo study if it is not there yet, open the window; the exit code of what failed first."""
    if sys.version_info < OLDEST:
        sys.exit(
            f"Phasemark needs Python 3.11 or newer, and this is Python {sys.version_info[0]}.{sys.version_info[1]}."
        )
    arguments = _arguments()
    import system

    screen = system.has_screen()
    needed, lacking = system.lacking_for_environment(), system.lacking_for_window()
    if system.can_install() or (screen and not arguments.no_window):
        needed |= lacking
    system.supply(needed)
    import demo_study
    import environment

    made = environment.prepare(".venv")
    study = demo_study.written(made, arguments.to, arguments.again)
    if arguments.no_window:
        return 0
    if not screen:
        print("There is no screen here, so the window stays closed.")
        if lacking and not system.can_install():
            print("For the window: " + system.how_to_mend(lacking))
        return 0
    return demo_study.opened(made, study)


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit(130)
