"""The study as a grid, participants by conditions, whose cells say what is still to do."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property
from typing import Literal

from phasemark.model.marks import Rep
from phasemark.model.study import Kind, Study, Trial
from phasemark.results.study_conditions import Condition, conditions_of, labels_in_cell, natural_key

NO_COMPLETE_REP = "no complete repetition"
HOLD_MEASURED, HOLD_TO_MEASURE, NO_HOLD = "hold measured", "hold not measured yet", "no hold found that is long enough"
# Repetitions of a warm-up or of another trial are in no mean.
_NEEDS_REPS = (Kind.TASK, Kind.REFERENCE)


class State(StrEnum):
    """What is still to do, the most urgent first: a cell has the most urgent state of its trials."""

    PROBLEM = "problem"
    NO_MARKS = "no marks"
    OLDER = "older marks"
    TO_CHECK = "to check"
    CHECKED = "checked"
    RECORDED = "recorded"
    EXCLUDED = "excluded"
    EMPTY = "no recording"


TO_DO = (State.PROBLEM, State.NO_MARKS, State.OLDER, State.TO_CHECK)
_URGENCY = {state: place for place, state in enumerate(State)}


@dataclass(frozen=True, slots=True)
class TrialProgress:
    """How far one trial is: so many of its reps are checked, of so many complete ones that are not excluded.

    label tells it from the other trials of its cell; note is the problem, the reason of the exclusion, or how far an
    isometric hold is measured, in words. findings is how many flagged findings of its signals nobody has decided about;
    they are no state: a trial with findings can be marked and checked.
    """

    trial: str
    label: str
    state: State
    checked: int = 0
    reps: int = 0
    note: str = ""
    findings: int = 0


@dataclass(frozen=True, slots=True)
class BesideMarks:
    """What marks alone do not show, by trial id.

    problems are in words without a full stop ('the recording is missing'); older has the trials whose marks were made
    by other settings than those of now; holds says how far isometric holds are measured (hold_note); findings counts
    the flagged findings that nobody has decided about.
    """

    problems: Mapping[str, str] = field(default_factory=dict)
    older: Collection[str] = ()
    holds: Mapping[str, str] = field(default_factory=dict)
    findings: Mapping[str, int] = field(default_factory=dict)

    def progress(self, trial: Trial, rater: str, label: str = "") -> TrialProgress:
        """How far a trial is."""
        return trial_progress(
            trial, rater, label, self.problems.get(trial.id, ""), older=trial.id in self.older,
            hold=self.holds.get(trial.id, ""), findings=self.findings.get(trial.id, 0),
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Total:
    """Trials of a column or of the study: checked of those to be checked; recorded ones have nothing to check."""

    checked: int
    trials: int
    recorded: int


@dataclass(frozen=True)
class Cell:
    """The trials of one participant in one condition, in the order of their sets."""

    trials: tuple[TrialProgress, ...] = ()

    @cached_property
    def state(self) -> State:
        """What is still to do in it."""
        return min((trial.state for trial in self.trials), key=_URGENCY.__getitem__, default=State.EMPTY)

    @property
    def to_do(self) -> bool:
        """Whether anything is still to do in it."""
        return self.state in TO_DO

    @property
    def checked(self) -> int:
        """Checked reps of all its trials."""
        return sum(trial.checked for trial in self.trials)

    @property
    def reps(self) -> int:
        """Complete reps of all its trials that are to be checked or are."""
        return sum(trial.reps for trial in self.trials)

    @property
    def findings(self) -> int:
        """Findings of all its trials that are still to be decided."""
        return sum(trial.findings for trial in self.trials)

    def opening(self, after: str = "") -> str:
        """The trial to open: the one after that in view, in turn; else the first with something to do, else the first.

        Empty where the cell has none.
        """
        ids = [trial.trial for trial in self.trials]
        if after in ids:
            return ids[(ids.index(after) + 1) % len(ids)]
        return next((trial.trial for trial in self.trials if trial.state in TO_DO), ids[0] if ids else "")


@dataclass(frozen=True)
class Grid:
    """Rows are participants, columns conditions; cells[row][column]."""

    participants: tuple[str, ...] = ()
    conditions: tuple[Condition, ...] = ()
    cells: tuple[tuple[Cell, ...], ...] = ()

    @cached_property
    def _places(self) -> dict[str, tuple[int, int]]:
        return {
            trial.trial: (row, column)
            for row, cells in enumerate(self.cells)
            for column, cell in enumerate(cells)
            for trial in cell.trials
        }

    def place_of(self, trial_id: str) -> tuple[int, int] | None:
        """Row and column of a trial; None if the grid has no such trial."""
        return self._places.get(trial_id)

    @cached_property
    def totals(self) -> tuple[Total, ...]:
        """The total of each column."""
        return tuple(_total(row[column] for row in self.cells) for column in range(len(self.conditions)))

    @cached_property
    def total(self) -> Total:
        """The total of the study."""
        return _total(cell for row in self.cells for cell in row)

    @cached_property
    def findings(self) -> int:
        """Findings of the study that are still to be decided."""
        return sum(cell.findings for row in self.cells for cell in row)

    @cached_property
    def states(self) -> frozenset[State]:
        """The states that any trial or cell has."""
        cells = [cell for row in self.cells for cell in row]
        return frozenset({cell.state for cell in cells} | {trial.state for cell in cells for trial in cell.trials})


def _total(cells: Iterator[Cell]) -> Total:
    states = [trial.state for cell in cells for trial in cell.trials]
    checked, recorded = states.count(State.CHECKED), states.count(State.RECORDED)
    return Total(checked, checked + sum(state in TO_DO for state in states), recorded)


def study_grid(study: Study, rater: str, beside: BesideMarks | None = None) -> Grid:
    """The grid of a study as one rater marked it, with what else is known of its trials."""
    places = {trial.id: place for place, trial in enumerate(study.trials)}
    participants = tuple(sorted({trial.participant for trial in study.trials}, key=natural_key))
    columns = conditions_of(study.trials)
    cells: dict[tuple[str, Condition], list[Trial]] = {}
    for condition, trials in columns.items():
        for trial in trials:
            cells.setdefault((trial.participant, condition), []).append(trial)

    def cell(participant: str, condition: Condition) -> Cell:
        trials = sorted(cells.get((participant, condition), ()), key=lambda t: (*_turn(t), places[t.id]))
        return _cell(trials, rater, beside or BesideMarks())

    rows = tuple(tuple(cell(person, condition) for condition in columns) for person in participants)
    return Grid(participants, tuple(columns), rows)


def _turn(trial: Trial) -> tuple[int, float]:
    return trial.set, float("inf") if trial.order is None else trial.order


def _cell(trials: Sequence[Trial], rater: str, beside: BesideMarks) -> Cell:
    if not trials:
        return Cell()
    labels = labels_in_cell(trials)
    return Cell(tuple(beside.progress(trial, rater, label) for trial, label in zip(trials, labels, strict=True)))


def hold_note(measured: int | None) -> str:
    """How far a hold is measured, in words, by the number of its values (None: not measured, or not as it is now)."""
    if measured is None:
        return HOLD_TO_MEASURE
    return HOLD_MEASURED if measured else NO_HOLD


def trial_progress(
    trial: Trial,
    rater: str,
    label: str = "",
    problem: str = "",
    *,
    older: bool = False,
    hold: str = "",
    findings: int = 0,
) -> TrialProgress:
    """What is still to do in a trial: the one place of this rule.

    An excluded trial has nothing to do, whatever is wrong with it. A rep that was excluded needs no check:
    a person has decided about it. Incomplete reps are not counted and need none either. Marks that are older than the
    settings are to be made again, whether they were checked or not; what a hand has touched stays as it is then.
    Of an isometric exercise there is nothing to mark; hold says how far its hold is measured (hold_note).
    Findings stand beside the state of a trial that is not excluded, and change nothing of it.
    """
    if trial.excluded is not None:
        return TrialProgress(trial.id, label, State.EXCLUDED, note=trial.excluded.reason)
    found = _progress(trial, rater, label, problem, older=older, hold=hold)
    return replace(found, findings=findings) if findings else found


def _progress(trial: Trial, rater: str, label: str, problem: str, *, older: bool, hold: str) -> TrialProgress:
    if problem:
        return TrialProgress(trial.id, label, State.PROBLEM, *_checked(_to_be_checked(trial, rater)), problem)
    if hold:
        return TrialProgress(trial.id, label, State.PROBLEM if hold == NO_HOLD else State.RECORDED, note=hold)
    if not trial.kind.holds_reps:
        return TrialProgress(trial.id, label, State.RECORDED)
    found = _progress_of_reps(trial, rater, label)
    return replace(found, state=State.OLDER) if older and found.reps else found


def _progress_of_reps(trial: Trial, rater: str, label: str) -> TrialProgress:
    marks = trial.marks_of(rater)
    if not marks.phase_rule and not marks.reps:
        return TrialProgress(trial.id, label, State.NO_MARKS)
    if not any(rep.complete for rep in marks.reps):
        if trial.kind in _NEEDS_REPS:
            return TrialProgress(trial.id, label, State.PROBLEM, note=NO_COMPLETE_REP)
        return TrialProgress(trial.id, label, State.RECORDED)
    checked, reps = _checked(_to_be_checked(trial, rater))
    if not reps:
        return TrialProgress(trial.id, label, State.EXCLUDED, note="all complete repetitions")
    return TrialProgress(trial.id, label, State.CHECKED if checked == reps else State.TO_CHECK, checked, reps)


def _to_be_checked(trial: Trial, rater: str) -> list[Rep]:
    return [rep for rep in trial.marks_of(rater).reps if rep.complete and rep.excluded is None]


def _checked(reps: Sequence[Rep]) -> tuple[int, int]:
    return sum(rep.checked is not None for rep in reps), len(reps)


def next_trial(grid: Grid, trial_id: str, way: Literal[1, -1], *, only_to_do: bool = False) -> str | None:
    """The trial after (1) or before (-1) one, in the order of work: participant by participant, column by column.

    From a trial that is not in the grid it starts at that end. only_to_do passes over trials with nothing to do.
    None where there is no further one.
    """
    order = [trial for row in grid.cells for cell in row for trial in cell.trials][::way]
    ids = [trial.trial for trial in order]
    begin = ids.index(trial_id) + 1 if trial_id in ids else 0
    return next((trial.trial for trial in order[begin:] if trial.state in TO_DO or not only_to_do), None)
