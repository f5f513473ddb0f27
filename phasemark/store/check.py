"""Whether a study's files are sound: checksums, paths, schema, ledger, recordings. Reads only."""

from collections.abc import Iterator
from pathlib import Path

from phasemark.model.errors import BadCall, BadData, PhasemarkError, Unavailable
from phasemark.model.study import RecordingRef, Study
from phasemark.store import disk
from phasemark.store.ledger import START, Tail, read_ledger
from phasemark.store.places import LEDGER, OLDER, PROJECT, study_folder
from phasemark.store.project import Project, read_project
from phasemark.store.recordings import read_recording
from phasemark.store.replay import Replayed, from_nothing, normal, replayed


def check(path: Path) -> tuple[str, ...]:
    """All that is wrong with a study's files, a sentence each; nothing where it is sound.

    Raises:
        Unavailable: there is nothing of that name.
        BadData: it is no study.
    """
    folder = study_folder(path)
    problems: list[str] = []
    project = _project(folder, PROJECT, problems)
    for name in OLDER:
        if disk.size_of(folder / name) is not None:
            _project(folder, name, problems)
    tail = _ledger(folder, problems)
    study = project.study if project else None
    if tail is not None:
        study = _agreement(folder, project, tail, problems) or study
    if study is not None:
        problems += _recordings(folder, study)
    return tuple(problems)


def _project(folder: Path, name: str, problems: list[str]) -> Project | None:
    try:
        return read_project(folder, name)
    except (BadData, Unavailable) as problem:
        problems.append(str(problem))
        return None


def _ledger(folder: Path, problems: list[str]) -> Tail | None:
    try:
        tail = read_ledger(folder, START)
    except (BadData, Unavailable) as problem:
        problems.append(str(problem))
        return None
    if tail.damage:
        problems.append(tail.damage)
    if tail.torn:
        problems.append(f"{folder / LEDGER} ends in a gesture that was never finished; opening the study cuts it off.")
    return tail


def _agreement(folder: Path, project: Project | None, tail: Tail, problems: list[str]) -> Study | None:
    """The study that the whole ledger leads to; says where it and the project file differ."""
    reached = 0
    if project is not None:
        reached = sum(entry.position.sequence <= project.position.sequence for entry in tail.entries)
        here = tail.entries[reached - 1].position if reached else START
        if here != project.position:
            if not tail.damage:
                problems.append(f"{folder / PROJECT} names a place in {LEDGER} that is not there.")
            return None
    try:
        then = from_nothing(tail.entries[:reached] if project else tail.entries)
        if project is not None and not then.damage and then.study != normal(project.study):
            problems.append(f"{folder / PROJECT} is not what {LEDGER} leads to.")
        end = then if then.damage else _end(then, project, tail, reached)
    except (BadData, BadCall) as problem:
        problems.append(f"{folder / LEDGER} makes no study: {problem}")
        return None
    if end.damage:
        problems.append(f"{folder / LEDGER}: {end.damage}")
    return end.study


def _end(then: Replayed, project: Project | None, tail: Tail, reached: int) -> Replayed:
    return then if project is None else replayed(project.study, then.position, tail.entries[reached:])


def _recordings(folder: Path, study: Study) -> Iterator[str]:
    refs: dict[RecordingRef, None] = dict.fromkeys(trial.recording for trial in study.trials)
    for ref in refs:
        try:
            read_recording(folder, ref)
        except PhasemarkError as problem:
            yield str(problem)
