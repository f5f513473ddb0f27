"""A virtual environment for this checkout: made once, kept up to date, the app installed anew each time."""

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
_NOTE = "phasemark-environment.json"
# Not part of what is installed, and nothing of it may get into a wheel.
_LEFT_OUT = shutil.ignore_patterns(".*", "build", "dist", "tests", "*.egg-info", "__pycache__")


@dataclass(frozen=True)
class Environment:
    """A virtual environment by its folder."""

    folder: Path

    def program(self, name: str) -> Path:
        """Where a program of the environment lies."""
        if sys.platform == "win32":
            return self.folder / "Scripts" / f"{name}.exe"
        return self.folder / "bin" / name

    def run(self, *words: str | Path, folder: Path | None = None, **variables: str) -> int:
        """Run one of the environment's programs with its output shown; its exit code."""
        name, *rest = words
        command = [str(self.program(str(name))), *map(str, rest)]
        environment = clean_variables() | variables
        return subprocess.run(command, stdin=subprocess.DEVNULL, cwd=folder, env=environment, check=False).returncode

    def pip(self, *words: str | Path) -> None:
        """Run pip in the environment; ends with a sentence when it fails."""
        code = self.run("python", "-m", "pip", "--quiet", *words, PIP_DISABLE_PIP_VERSION_CHECK="1")
        if code != 0:
            what = " ".join(map(str, words))
            raise SystemExit(f"pip could not do this (its own words are above): pip {what}")


def clean_variables() -> dict[str, str]:
    """The variables of this process without those that would lead a virtual environment astray."""
    return {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "PYTHONHOME", "PYTHONSTARTUP")}


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def working_folder() -> Path:
    """The checkout where it can be written to, else a folder in the user's cache or among temporary files."""
    if _writable(ROOT):
        return ROOT
    name = "phasemark-" + hashlib.sha256(str(ROOT).encode()).hexdigest()[:10]
    caches = os.environ.get("LOCALAPPDATA") or os.environ.get("XDG_CACHE_HOME") or "~/.cache"
    for place in (Path(caches).expanduser() / name, Path(tempfile.gettempdir()) / name):
        if _writable(place):
            return place
    raise SystemExit(f"Neither {ROOT} nor a folder for temporary files can be written to.")


def _wanted(extras: str) -> dict[str, str]:
    """What an environment depends on; it is brought up to date when this changes."""
    project = hashlib.sha256((ROOT / "pyproject.toml").read_bytes()).hexdigest()
    return {"python": sys.version, "base": sys.base_prefix, "project": project, "extras": extras}


def _noted(environment: Environment) -> dict[str, str]:
    """What an environment was made for; nothing where it was never finished or no longer runs."""
    note = environment.folder / _NOTE
    try:
        noted = json.loads(note.read_text("utf-8"))
        runs = subprocess.run([environment.program("python"), "-c", ""], capture_output=True, check=False)
    except (OSError, ValueError):
        return {}
    return noted if isinstance(noted, dict) and runs.returncode == 0 else {}


def _make(environment: Environment) -> None:
    """Make an environment anew; one that another hand has made is left alone, and said."""
    note = environment.folder / _NOTE
    if environment.folder.exists() and not note.exists():
        raise SystemExit(f"{environment.folder} was not made by this script: move it away, then run this again.")
    print(f"Making the environment {environment.folder}", flush=True)
    shutil.rmtree(environment.folder, ignore_errors=True)
    environment.folder.mkdir(parents=True)
    _write_note(environment, {})
    command = [sys.executable, "-m", "venv", str(environment.folder)]
    if subprocess.run(command, stdin=subprocess.DEVNULL, env=clean_variables(), check=False).returncode != 0:
        raise SystemExit(f"The virtual environment {environment.folder} could not be made (see above).")


def _write_note(environment: Environment, done: dict[str, str]) -> None:
    (environment.folder / _NOTE).write_text(json.dumps(done), "utf-8")


def _build_requirements() -> list[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    return list(project["build-system"]["requires"])


@contextmanager
def _built_wheel(environment: Environment) -> Iterator[Path]:
    """The app as a wheel, built from a copy: the checkout is not written to and old builds leave no modules in it."""
    with tempfile.TemporaryDirectory(prefix="phasemark-wheel-") as name:
        folder = Path(name)
        shutil.copytree(ROOT, folder / "source", ignore=_LEFT_OUT)
        environment.pip("wheel", "--no-deps", "--no-build-isolation", "-w", folder / "wheel", folder / "source")
        yield next((folder / "wheel").glob("*.whl"))


def prepare(name: str, extras: str = "") -> Environment:
    """The environment of a name with the app as it is now installed from a wheel.

    Dependencies are looked at only when pyproject.toml or Python has changed, so that it is quick, and needs no
    network, the second time.
    """
    environment = Environment(working_folder() / name)
    wanted, noted = _wanted(extras), _noted(environment)
    if any(noted.get(key) != wanted[key] for key in ("python", "base")):
        _make(environment)
    fresh = noted != wanted
    if fresh:
        _write_note(environment, {key: wanted[key] for key in ("python", "base")})
        print("Installing what Phasemark needs (the first time this takes a few minutes)", flush=True)
        environment.pip("install", *_build_requirements())
    with _built_wheel(environment) as wheel:
        if fresh:
            environment.pip("install", f"{wheel}[{extras}]" if extras else wheel)
        environment.pip("install", "--no-deps", "--force-reinstall", wheel)
    _write_note(environment, wanted)
    return environment


def qt_complaint(environment: Environment) -> str:
    """Why Qt's windows cannot be loaded in an environment; empty where they can."""
    command = [str(environment.program("python")), "-c", "import PySide6.QtWidgets"]
    tried = subprocess.run(command, capture_output=True, text=True, env=clean_variables(), check=False)
    last = tried.stderr.strip().splitlines()[-1:] or [f"exit code {tried.returncode}"]
    return "" if tried.returncode == 0 else f"Qt cannot be loaded: {last[0]}"
