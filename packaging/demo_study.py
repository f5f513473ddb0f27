"""The demo study on disk: written once by the installed app, opened again as it was left."""

import shutil
import sys
from pathlib import Path

from environment import Environment, qt_complaint, working_folder

_FINISHED = "finished.txt"


def written(environment: Environment, to: str | None, again: bool) -> Path:
    """The folder of the demo study, written, marked, measured and exported; says where everything is.

    Only a folder that this script has begun is ever written anew. Ends with the app's exit code when it fails.
    """
    folder = (Path(to) if to else working_folder() / "build" / "demo").absolute()
    begun, note = folder.parent / f"{folder.name}.begun", folder / _FINISHED
    if begun.exists() and (again or not note.exists()):
        shutil.rmtree(folder, ignore_errors=True)
    if not note.exists():
        if folder.exists() and any(folder.iterdir()):
            raise SystemExit(f"{folder} holds something else: name another folder with --to DIR.")
        folder.parent.mkdir(parents=True, exist_ok=True)
        begun.write_text("The folder beside this was begun by packaging/demo.py.\n", "utf-8")
        code = environment.run("phasemark", "demo", "--to", folder, "--no-window")
        if code != 0:
            raise SystemExit(code)
        note.write_text("The demo study beside this is whole.\n", "utf-8")
    print(f"The demo study is in {folder / 'study'}, its results are in {folder / 'exports'}.")
    print(f"Phasemark is installed as {environment.program('phasemark')}", flush=True)
    return folder / "study"


def opened(environment: Environment, study: Path) -> int:
    """Open the window on a study until it is closed; its exit code."""
    complaint = qt_complaint(environment)
    if complaint:
        print(f"{complaint}. The window stays closed.", file=sys.stderr)
        return 1
    print("Opening the window.", flush=True)
    return environment.run("phasemark-window", study)
