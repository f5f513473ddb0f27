"""What a project file holds, between a study in memory and HDF5: JSON values and tables of columns.

Migrations work on this form, so that they need neither old model types nor HDF5.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from phasemark.model.codec import from_plain, to_plain
from phasemark.model.errors import BadData
from phasemark.model.marks import Boundary, ChannelExclusion, Decision, Marks, Origin, Phase, Place, Rep
from phasemark.model.normalisation import ReferenceDecision
from phasemark.model.plan import AnalysisPlan
from phasemark.model.settings import Settings
from phasemark.model.study import Exercise, Study, Trial
from phasemark.store import plain_json
from phasemark.store.tables import Column, ResultTable, Table


@dataclass(frozen=True, slots=True)
class Content:
    """JSON values by name, and tables by name."""

    texts: Mapping[str, Any] = field(default_factory=dict)
    tables: Mapping[str, Table] = field(default_factory=dict)


def _text(value: object) -> str:
    return plain_json.dump(to_plain(value)).decode("utf-8")


def study_content(study: Study) -> Content:
    """A study as JSON values and tables."""
    frames = [(trial.id, marks) for trial in study.trials for marks in trial.marks]
    texts = {
        "study": {"name": study.name, "raters": list(study.raters)},
        "settings": to_plain(study.settings),
        "exercises": [to_plain(exercise) for exercise in study.exercises],
        "references": [to_plain(reference) for reference in study.references],
        "plan": to_plain(study.plan),
        "trials": [to_plain(replace(trial, marks=())) for trial in study.trials],
        "marks": [{"trial": trial, "frame": to_plain(replace(marks, reps=()))} for trial, marks in frames],
    }
    reps = [(trial, marks.rater, rep) for trial, marks in frames for rep in marks.reps]
    return Content(texts, {"reps": _reps_table(reps), "boundaries": _boundaries_table(reps)})


_Owned = list[tuple[str, str, Rep]]


def _reps_table(reps: _Owned) -> Table:
    return Table(
        {
            **_owner_columns([(trial, rater, rep.id) for trial, rater, rep in reps]),
            "complete": np.array([rep.complete for _, _, rep in reps], dtype=np.int64),
            "doubt": np.array([rep.doubt for _, _, rep in reps], dtype=np.float64),
            "doubts": tuple(_text(rep.doubts) for _, _, rep in reps),
            "checked": tuple(_text(rep.checked) for _, _, rep in reps),
            "excluded": tuple(_text(rep.excluded) for _, _, rep in reps),
            "excluded_channels": tuple(_text(rep.excluded_channels) for _, _, rep in reps),
        }
    )


def _owner_columns(owners: list[tuple[str, str, int]]) -> dict[str, Column]:
    return {
        "trial": tuple(trial for trial, _, _ in owners),
        "rater": tuple(rater for _, rater, _ in owners),
        "rep": np.array([rep for _, _, rep in owners], dtype=np.int64),
    }


def _boundaries_table(reps: _Owned) -> Table:
    rows = [
        (trial, rater, rep.id, index, phase.name, place, boundary)
        for trial, rater, rep in reps
        for index, phase in enumerate(rep.phases)
        for place, boundary in phase.boundaries()
    ]
    return Table(
        {
            **_owner_columns([row[:3] for row in rows]),
            "phase": np.array([row[3] for row in rows], dtype=np.int64),
            "name": tuple(row[4] for row in rows),
            "place": tuple(str(row[5]) for row in rows),
            "sample": np.array([row[6].sample for row in rows], dtype=np.int64),
            "origin": tuple(str(row[6].origin) for row in rows),
        }
    )


def study_of(content: Content) -> Study:
    """The study that was written down.

    Raises:
        BadData: a part is missing or does not fit the others.
    """
    try:
        return _study_of(content)
    except (KeyError, IndexError, TypeError) as problem:
        raise BadData(f"a part is missing or of the wrong kind: {problem}") from problem


def _study_of(content: Content) -> Study:
    texts = content.texts
    reps = _reps_by_owner(content.tables["reps"], _phases_by_rep(content.tables["boundaries"]))
    marks: dict[str, list[Marks]] = {}
    for entry in texts["marks"]:
        frame = from_plain(entry["frame"], Marks)
        held = tuple(reps.pop((entry["trial"], frame.rater), ()))
        marks.setdefault(entry["trial"], []).append(replace(frame, reps=held))
    trials = [from_plain(plain, Trial) for plain in texts["trials"]]
    if reps or not set(marks) <= {trial.id for trial in trials}:
        raise BadData("there are marks that belong to no trial")
    return Study(
        str(texts["study"]["name"]),
        tuple(replace(trial, marks=tuple(marks.get(trial.id, ()))) for trial in trials),
        tuple(from_plain(plain, Exercise) for plain in texts["exercises"]),
        from_plain(texts["settings"], Settings),
        tuple(texts["study"]["raters"]),
        tuple(from_plain(plain, ReferenceDecision) for plain in texts["references"]),
        None if texts["plan"] is None else from_plain(texts["plan"], AnalysisPlan),
    )


_RepKey = tuple[str, str, int]


def _lists(table: Table, *names: str) -> list[list[Any]]:
    columns = [table.columns[name] for name in names]
    return [column.tolist() if isinstance(column, np.ndarray) else list(column) for column in columns]


def _phases_by_rep(table: Table) -> dict[_RepKey, list[Phase]]:
    found: dict[tuple[_RepKey, int, str], dict[Place, Boundary]] = {}
    names = ("trial", "rater", "rep", "phase", "name", "place", "sample", "origin")
    for trial, rater, rep, index, name, place, sample, origin in zip(*_lists(table, *names), strict=True):
        here = found.setdefault(((trial, rater, rep), index, name), {})
        here[Place(place)] = Boundary(sample, Origin(origin))
    phases: dict[_RepKey, list[Phase]] = {}
    for (owner, _, name), places in found.items():
        lines = (places[Place.FIRST_LINE], places[Place.SECOND_LINE]) if Place.FIRST_LINE in places else None
        phases.setdefault(owner, []).append(Phase(name, places[Place.BEGIN], places[Place.END], lines))
    return phases


class _Reader:
    """Model values from JSON texts, each different text read once."""

    def __init__(self, kind: Any) -> None:
        self._kind = kind
        self._known: dict[str, Any] = {}

    def __call__(self, text: str) -> Any:
        if text not in self._known:
            self._known[text] = from_plain(plain_json.load(text.encode("utf-8", "surrogatepass")), self._kind)
        return self._known[text]


def _reps_by_owner(table: Table, phases: dict[_RepKey, list[Phase]]) -> dict[tuple[str, str], list[Rep]]:
    decision = _Reader(Decision | None)
    doubts, channels = _Reader(tuple[str, ...]), _Reader(tuple[ChannelExclusion, ...])
    names = ("trial", "rater", "rep", "complete", "doubt", "doubts", "checked", "excluded", "excluded_channels")
    reps: dict[tuple[str, str], list[Rep]] = {}
    for trial, rater, rep, complete, doubt, words, checked, excluded, without in zip(
        *_lists(table, *names), strict=True
    ):
        built = Rep(
            rep,
            tuple(phases.pop((trial, rater, rep))),
            bool(complete),
            doubt,
            doubts(words),
            decision(checked),
            decision(excluded),
            channels(without),
        )
        reps.setdefault((trial, rater), []).append(built)
    if phases:
        raise BadData("there are boundaries that belong to no rep")
    return reps


_FURTHER = "results of "


def results_content(results: ResultTable | None) -> Content:
    """Results as JSON values and tables; nothing where there are none."""
    if results is None:
        return Content()
    keys = {"trial": tuple(trial for trial, _ in results.keys), "key": tuple(key for _, key in results.keys)}
    further = {f"{_FURTHER}{name}": table for name, table in results.further.items()}
    return Content({}, {"result_keys": Table(keys), "results": results.table, **further})


def results_of(content: Content) -> ResultTable | None:
    """The results that were written down; None where there were none."""
    if "results" not in content.tables:
        return None
    trials, keys = _lists(content.tables["result_keys"], "trial", "key")
    further = {n.removeprefix(_FURTHER): table for n, table in content.tables.items() if n.startswith(_FURTHER)}
    return ResultTable(tuple(zip(trials, keys, strict=True)), content.tables["results"].columns, further)
