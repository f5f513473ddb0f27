"""Reading the recordings of many trials: one that cannot be used is left out and said, the others go on."""

from collections.abc import Callable, Iterable
from typing import TypeVar

from phasemark.model.errors import BadData, PhasemarkError, Unavailable
from phasemark.model.study import Trial
from phasemark.store.folder import StudyFolder
from phasemark.store.recordings import StoredRecording

T = TypeVar("T")


def read_or_problem(folder: StudyFolder) -> Callable[[Trial], StoredRecording | PhasemarkError]:
    """A function that reads a trial's recording, or gives what is wrong with it."""

    def read(trial: Trial) -> StoredRecording | PhasemarkError:
        try:
            return folder.read_recording(trial.recording)
        except (BadData, Unavailable) as problem:
            return _left_out(trial, problem)

    return read


def _left_out(trial: Trial, problem: BadData | Unavailable) -> PhasemarkError:
    return type(problem)(f"Trial {trial.id} was left out: {problem}")


def where_read(
    compute: Callable[[Trial, StoredRecording], T],
) -> Callable[[Trial, StoredRecording | PhasemarkError], T | PhasemarkError]:
    """The same computation, which hands on what was wrong with a recording, or what it finds wrong (filters, say)."""

    def computed(trial: Trial, stored: StoredRecording | PhasemarkError) -> T | PhasemarkError:
        if isinstance(stored, PhasemarkError):
            return stored
        try:
            return compute(trial, stored)
        except (BadData, Unavailable) as problem:
            return _left_out(trial, problem)

    return computed


def parted(found: Iterable[T | PhasemarkError]) -> tuple[list[T], tuple[PhasemarkError, ...]]:
    """What came to a result, and what was wrong with the rest."""
    results: list[T] = []
    problems: list[PhasemarkError] = []
    for one in found:
        if isinstance(one, PhasemarkError):
            problems.append(one)
        else:
            results.append(one)
    return results, tuple(problems)
