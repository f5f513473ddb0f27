"""Run every check of Phasemark: lint, types, import contracts and tests, against the app installed from a wheel.

    python3 packaging/test.py [arguments for pytest]

Makes the environment .venv-test with the test extras. Needs nothing but Python 3.11 or newer; exit code 0 means that
all passed.
"""

import sys

OLDEST = (3, 11)


def main() -> int:
    """Set up and run all checks; 1 where any of them failed."""
    if sys.version_info < OLDEST:
        sys.exit(
            f"Phasemark needs Python 3.11 or newer, and this is Python {sys.version_info[0]}.{sys.version_info[1]}."
        )
    import system

    system.supply(system.lacking_for_environment() | system.lacking_for_window_tests())
    import checks
    import environment

    made = environment.prepare(".venv-test", "test")
    complaint = environment.qt_complaint(made)
    if complaint:
        sys.exit(complaint)
    return checks.run_all(made, sys.argv[1:])


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit(130)
