"""Opening a study: its files become one live session."""

from pathlib import Path

from phasemark.model.errors import BadData
from phasemark.model.study import Study
from phasemark.results.table import from_columns
from phasemark.session.session import Results, Session
from phasemark.store.folder import StudyFolder
from phasemark.store.tables import ResultTable
from phasemark.worker import Worker


def open_session(path: Path, worker: Worker, *, write: bool = True) -> tuple[Session, tuple[str, ...]]:
    """Open a study by its folder or its project file; with what there is to say about it.

    A study that cannot be written opens read-only; the session's read_only then says why.

    Raises:
        Unavailable: there is none of that name.
        BadData: it is no study, or damaged beyond what its files can replace.
    """
    opened = StudyFolder.open(path, write=write)
    messages = opened.messages
    results: Results = {}
    try:
        results = _results(opened.results)
    except BadData as problem:
        messages = (*messages, str(problem))
    return Session(opened.folder, opened.study, results, worker), messages


def create_session(path: Path, worker: Worker) -> Session:
    """Make an empty study, named after its folder, and open it."""
    study = Study(path.resolve().name)
    return Session(StudyFolder.create(path, study), study, {}, worker)


def _results(table: ResultTable | None) -> Results:
    if table is None:
        return {}
    keys = {}
    for name, key in table.keys:
        trial, _, rater = name.partition("/")
        keys[trial, rater] = key
    return from_columns(keys, table.columns)
