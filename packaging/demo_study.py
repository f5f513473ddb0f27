"""The demo study on disk: written once by the installed app, opened again as it was left."""

import shutil
import sys
from pathlib import Path

from environment import Environment, qt_complaint, working_folder

_NOTE = "about-this-folder.txt"
_BEGUN = "Written by packaging/demo.py, not finished: the next run writes it anew.\n"
_WHOLE = "The invented demo study, written by packaging/demo.py. Truth and exports lie beside the study.\n"


def _note_of(folder: Path) -> str:
    note = folder / _NOTE
    return note.read_text("utf-8") if note.is_file() else ""


def written(environment: Environment, to: str | None, again: bool) -> Path:
    """The folder of the demo study, written, marked, measured and exported; says where everything is.

    Only a folder that this script has written is ever written anew. Ends with the app's exit code when it fails.
    """
    folder = (Path(to) if to else working_folder() / "build" / "demo").absolute()
    if _note_of(folder) == _BEGUN or (again and _note_of(folder) == _WHOLE):
        shutil.rmtree(folder)
    if _note_of(folder) != _WHOLE:
        _write(environment, folder)
    print(f"The demo study is in {folder / 'study'}, its results are in {folder / 'exports'}.")
    print(f"Phasemark is installed as {environment.program('phasemark')}", flush=True)
    return folder / "study"


def _write(environment: Environment, folder: Path) -> None:
    if folder.exists() and any(folder.iterdir()):
        raise SystemExit(f"{folder} holds something else: name another folder with --to DIR.")
    folder.mkdir(parents=True, exist_ok=True)
    (folder / _NOTE).write_text(_BEGUN, "utf-8")
    code = environment.run("phasemark", "demo", "--to", folder, "--no-window")
    if code != 0:
        raise SystemExit(code)
    (folder / _NOTE).write_text(_WHOLE, "utf-8")


def opened(environment: Environment, study: Path) -> int:
    """Open the window on a study until it is closed; its exit code."""
    complaint = qt_complaint(environment)
    if complaint:
        print(f"{complaint}. The window stays closed.", file=sys.stderr)
        return 1
    print("Opening the window.", flush=True)
    return environment.run("phasemark-window", study)
