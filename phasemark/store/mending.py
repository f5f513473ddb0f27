"""What opening a study puts right in its folder, and the sentences that say so."""

from pathlib import Path

from phasemark.store import disk
from phasemark.store.ledger import cut_torn
from phasemark.store.opening import Loaded
from phasemark.store.places import LEDGER, PROJECT, RECORDINGS
from phasemark.store.project import set_aside, write_project


def mended(folder: Path, loaded: Loaded) -> tuple[str, ...]:
    """Put right what a killed writer or a damaged disk has left, and say what was done.

    Raises:
        Unavailable: the disk says no.
    """
    for place in (folder, folder / RECORDINGS):
        disk.remove_unfinished(place)
    return (*_torn_cut(folder, loaded), *_project_rebuilt(folder, loaded))


def _torn_cut(folder: Path, loaded: Loaded) -> tuple[str, ...]:
    if not loaded.tail.torn:
        return ()
    kept = cut_torn(folder, loaded.tail)
    said = f"{folder / LEDGER} ended in a gesture that was never finished; it is left out and kept as {kept.name}."
    return (said,)


def _project_rebuilt(folder: Path, loaded: Loaded) -> tuple[str, ...]:
    if not loaded.rebuilt_from:
        return ()
    kept = set_aside(folder)
    write_project(folder, loaded.study, loaded.results, loaded.position)
    said = f"{loaded.why}; {PROJECT} was rebuilt from {loaded.rebuilt_from}"
    said += f" and {LEDGER}" if loaded.rebuilt_from != LEDGER else " (without results: measure again)"
    return (said + (f", and the damaged file is kept as {kept.name}." if kept else "."),)


def left_as_they_are(folder: Path, loaded: Loaded, *, held: bool) -> tuple[str, ...]:
    """What would have been put right if the study could be written.

    held: someone else is writing, so that the last gesture may just be on its way.
    """
    said = []
    if loaded.rebuilt_from:
        said.append(f"{loaded.why}; what is shown comes from {loaded.rebuilt_from}.")
    if loaded.tail.torn and not held:
        said.append(f"{folder / LEDGER} ends in a gesture that was never finished; it is left out.")
    return tuple(said)
