"""The checks of a commit, run one after the other with the programs of one environment."""

import tempfile
from pathlib import Path
from xml.etree import ElementTree

from environment import ROOT, Environment

_LINTS = (
    ("lint", ("ruff", "check", ".")),
    ("format", ("ruff", "format", "--check", ".")),
    ("types", ("mypy",)),
    ("import contracts", ("lint-imports", "--no-cache")),
)


def _cache_variables(environment: Environment) -> dict[str, str]:
    """Variables that keep what the tools remember in the environment: the checkout need not be writable."""
    names = {"RUFF_CACHE_DIR": "ruff", "MYPY_CACHE_DIR": "mypy", "HYPOTHESIS_STORAGE_DIRECTORY": "hypothesis"}
    return {variable: str(environment.folder / "caches" / name) for variable, name in names.items()}


def _installed_from_wheel(environment: Environment) -> bool:
    """Whether the tests would import the installed app and not the checkout."""
    where = "import pathlib, phasemark, sys; sys.exit(sys.prefix not in phasemark.__file__)"
    return environment.run("python", "-P", "-c", where, folder=ROOT) == 0


def _tests(environment: Environment, arguments: list[str]) -> tuple[bool, str]:
    """Run pytest; whether all passed, and the counts in words."""
    with tempfile.TemporaryDirectory(prefix="phasemark-tests-") as name:
        report = Path(name) / "report.xml"
        cache = environment.folder / "caches" / "pytest"
        words = [
            "pytest",
            "--continue-on-collection-errors",
            f"--junitxml={report}",
            "-o",
            f"cache_dir={cache}",
            *arguments,
        ]
        variables = _cache_variables(environment) | {"QT_QPA_PLATFORM": "offscreen", "PYTHONSAFEPATH": "1"}
        code = environment.run(*words, folder=ROOT, **variables)
        if not report.exists():
            return False, "pytest did not finish"
        suites = list(ElementTree.parse(report).getroot().iter("testsuite"))
    count = {key: sum(int(s.get(key, 0)) for s in suites) for key in ("tests", "failures", "errors", "skipped")}
    bad, skipped = count["failures"] + count["errors"], count["skipped"]
    return code == 0, f"{count['tests'] - bad - skipped} passed, {bad} failed, {skipped} skipped"


def run_all(environment: Environment, arguments: list[str]) -> int:
    """Run every check even where one fails; 0 where all passed, else 1. Arguments are passed on to pytest."""
    if not _installed_from_wheel(environment):
        raise SystemExit("The tests would not run against the installed app; remove .venv-test and run this again.")
    failed = []
    for title, command in _LINTS:
        print(f"\n== {title}: {' '.join(command)}", flush=True)
        if environment.run(*command, folder=ROOT, **_cache_variables(environment)) != 0:
            failed.append(title)
    print("\n== tests: pytest", flush=True)
    passed, counts = _tests(environment, arguments)
    if not passed:
        failed.append("tests")
    if failed:
        print(f"\nFAILED: {', '.join(failed)} (tests: {counts})", flush=True)
        return 1
    print(f"\nLint, format, types and import contracts hold; tests: {counts}", flush=True)
    return 0
