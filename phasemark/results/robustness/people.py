"""Trials brought together to cells, participant by participant, so that no more than a few are held at a time."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from phasemark.model.marks import Marks
from phasemark.model.study import Trial
from phasemark.results.comparison.cells import CellKey, RepValue, cells_from, place_of
from phasemark.results.comparison.reading import counted_values
from phasemark.results.numbers import Numbers
from phasemark.results.robustness.frame import Frame, participants_trials
from phasemark.results.robustness.moved_cells import mean_there
from phasemark.results.robustness.trial_values import TrialValues
from phasemark.results.robustness.variants import Variant, with_taken_in

Moved = dict[CellKey, NDArray[np.float64]]


@dataclass(frozen=True, slots=True, eq=False)
class PersonCells:
    """One participant's cells under each variant, by its name, and under each row of moved boundaries."""

    under: Mapping[str, Mapping[CellKey, float]]
    moved: Mapping[CellKey, NDArray[np.float64]]


@dataclass(slots=True)
class _Waiting:
    """The trials of a participant of which there are values already; marks are the other ones by trial and key."""

    trials: tuple[Trial, ...]
    found: dict[str, TrialValues | None] = field(default_factory=dict)
    marks: dict[str, Mapping[str, Marks]] = field(default_factory=dict)


class Gathering:
    """Takes the values of trials in any order and from any thread, and makes each participant's cells when all are in.

    The order in which trials arrive does not change a digit.
    """

    def __init__(self, frame: Frame) -> None:
        self._frame, self._lock = frame, Lock()
        self._waiting = {who: _Waiting(trials) for who, trials in participants_trials(frame).items()}
        self._people: dict[str, PersonCells] = {}

    def add(self, trial: Trial, values: TrialValues | None, marks: Mapping[str, Marks] | None = None) -> None:
        """The values of a trial, with its other marks; None where its recording could not be read: it is left out."""
        with self._lock:
            waiting = self._waiting[trial.participant]
            waiting.found[trial.id], waiting.marks[trial.id] = values, marks or {}
            if len(waiting.found) < len(waiting.trials):
                return
            del self._waiting[trial.participant]
        cells = _person(self._frame, waiting)
        with self._lock:
            self._people[trial.participant] = cells

    def people(self) -> dict[str, PersonCells]:
        """Everybody's cells, sorted by participant."""
        return dict(sorted(self._people.items()))


def _person(frame: Frame, waiting: _Waiting) -> PersonCells:
    found = {trial.id: values for trial in waiting.trials if (values := waiting.found[trial.id]) is not None}
    trials = [trial for trial in waiting.trials if trial.id in found]
    under = {variant.name: _cells(frame, variant, trials, found, waiting.marks) for variant in frame.variants.all}
    per_cell: dict[CellKey, list[NDArray[np.float64]]] = {}
    for trial in trials:
        for key, rows in found[trial.id].moved.items():
            per_cell.setdefault(key, []).append(rows)
    return PersonCells(under, {key: mean_there(np.array(rows)) for key, rows in per_cell.items()})


def _cells(
    frame: Frame,
    variant: Variant,
    trials: Iterable[Trial],
    found: Mapping[str, TrialValues],
    marks: Mapping[str, Mapping[str, Marks]],
) -> dict[CellKey, float]:
    """One participant's cells under a variant, by the same functions as planned, in the unit of the comparison."""
    numbers, rater = frame.numbers, frame.numbers.rater
    own = [with_taken_in(t, marks[t.id].get(variant.marks, t.marks_of(rater)), variant.taken_in) for t in trials]
    results, facts = {}, {}
    for trial in own:
        of_trial = found[trial.id]
        if trial.id in numbers.results:
            results[trial.id] = of_trial.results.get(variant.name, numbers.results[trial.id])
        if trial.id in numbers.facts:
            facts[trial.id] = of_trial.facts.get(variant.name, numbers.facts[trial.id])
    people = {trial.participant for trial in own}
    references = tuple(held for held in numbers.study.references if held.participant in people)
    study = replace(numbers.study, trials=tuple(own), settings=variant.settings, references=references, plan=None)
    plan, unit = replace(frame.plan, outcome=variant.outcome), frame.comparison.unit
    wanted = {cell.place for cell in frame.comparison.cells}
    subtract = study.settings.baseline.subtract
    values = (
        RepValue(
            one.key, one.channel.trial.id, one.channel.trial.set, one.rep,
            one.channel.amplitude(one.value, plan.outcome, unit, subtract=subtract),
        )
        for one in counted_values(Numbers(study, rater, results, facts), plan, frame.sides)
        if one.key.level in (plan.a, plan.b) and place_of(one.key) in wanted
    )  # fmt: skip
    return dict(cells_from(values, unit).values)
