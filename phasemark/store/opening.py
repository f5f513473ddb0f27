"""What a study's files lead to: the project file or what can replace it, and the ledger after it. Writes nothing."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from phasemark.model.errors import BadCall, BadData
from phasemark.model.study import Study
from phasemark.store import disk
from phasemark.store.ledger import START, Tail, read_ledger
from phasemark.store.ledger_lines import LedgerPosition
from phasemark.store.migration import NewerSchema
from phasemark.store.places import LEDGER, OLDER, PROJECT
from phasemark.store.project import NotUnderstood, Project, read_project
from phasemark.store.replay import from_nothing, replayed
from phasemark.store.tables import ResultTable


@dataclass(frozen=True, slots=True)
class Loaded:
    """A study as its files have it.

    position is the end of the ledger's last whole gesture. damage says why nothing may be appended ('' if it
    may). rebuilt_from names what stood in for a project file that is lost ('' if it is whole), why says how.
    """

    study: Study
    results: ResultTable | None
    position: LedgerPosition
    tail: Tail
    damage: str = ""
    rebuilt_from: str = ""
    why: str = ""


def load(folder: Path) -> Loaded:
    """The study of a folder, all that was acknowledged included.

    Raises:
        NewerSchema, NotUnderstood: a later version of the program wrote it.
        Unavailable: a file cannot be read.
        BadData: neither the project file nor anything that can replace it is whole.
    """
    path = folder / PROJECT
    if disk.size_of(path) is None:
        return _rebuilt(folder, f"{path} is missing")
    try:
        project = read_project(folder)
    except (NewerSchema, NotUnderstood):
        raise
    except BadData as problem:
        return _rebuilt(folder, str(problem).removesuffix("."))
    return _continued(folder, project)


def _continued(folder: Path, project: Project, rebuilt_from: str = "", why: str = "") -> Loaded:
    """A project file with the ledger's tail after it."""
    if disk.size_of(folder / LEDGER) is None:
        damage = f"{folder / LEDGER} is missing; put it back to go on with this study."
        tail = Tail((), project.position, damage=damage)
    else:
        tail = read_ledger(folder, project.position)
    after = replayed(project.study, project.position, tail.entries)
    misfit = f"{folder / LEDGER}: {after.damage}" if after.damage else ""
    return Loaded(after.study, project.results, tail.end, tail, misfit or tail.damage, rebuilt_from, why)


def _from_ledger(folder: Path, why: str) -> Loaded:
    tail = read_ledger(folder, START)
    after = from_nothing(tail.entries)
    misfit = f"{folder / LEDGER}: {after.damage}" if after.damage else ""
    return Loaded(after.study, None, tail.end, tail, misfit or tail.damage, LEDGER, why)


def _rebuilt(folder: Path, why: str) -> Loaded:
    """The study from the newest older copy that leads to the ledger's end, else from the ledger alone."""
    partial: Loaded | None = None
    for attempt in _attempts(folder, why):
        try:
            loaded = attempt()
        except NewerSchema:
            raise
        except (BadData, BadCall):
            continue
        if not loaded.damage:
            return loaded
        partial = partial or loaded
    if partial is None:
        raise BadData(f"{why}, and neither an older copy beside it nor {LEDGER} can replace it; use a backup.")
    return partial


def _attempts(folder: Path, why: str) -> Iterator[Callable[[], Loaded]]:
    for name in OLDER:
        if disk.size_of(folder / name) is not None:
            yield lambda name=name: _continued(folder, read_project(folder, name), name, why)  # type: ignore[misc]
    if disk.size_of(folder / LEDGER) is not None:
        yield lambda: _from_ledger(folder, why)
