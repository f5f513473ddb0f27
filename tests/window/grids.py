"""Grids of an invented study for tests: participants by two exercises of two sets each, MVIC and quiet trials."""

from phasemark.model.study import Kind
from phasemark.results.study_conditions import Condition
from phasemark.results.study_grid import Cell, Grid, State, TrialProgress

FLAT, RAISED = Condition(Kind.TASK, "squat heels flat"), Condition(Kind.TASK, "squat heels raised")
MVIC, QUIET = Condition(Kind.MVIC), Condition(Kind.QUIET)


def sets(name: str, *checked: int | None, reps: int = 8) -> Cell:
    """A cell of sets with so many of their reps checked; None is a set without marks."""
    many = len(checked) > 1

    def progress(number: int, done: int | None) -> TrialProgress:
        label, trial = (f"set {number}" if many else ""), f"{name}.{number}"
        if done is None:
            return TrialProgress(trial, label, State.NO_MARKS)
        return TrialProgress(trial, label, State.CHECKED if done == reps else State.TO_CHECK, done, reps)

    return Cell(tuple(progress(number, done) for number, done in enumerate(checked, 1)))


def of_state(name: str, state: State, note: str = "", count: int = 1) -> Cell:
    """A cell of so many trials of one state."""
    return Cell(
        tuple(
            TrialProgress(f"{name}.{n}", f"effort {n}" if count > 1 else "", state, note=note)
            for n in range(1, count + 1)
        )
    )


def mixed() -> Grid:
    """Four participants whose cells are in every state."""
    rest = lambda p: (of_state(f"{p}m", State.RECORDED, count=3), of_state(f"{p}q", State.RECORDED))  # noqa: E731
    return Grid(
        ("P01", "P02", "P03", "P10"),
        (FLAT, RAISED, MVIC, QUIET),
        (
            (sets("1f", 8, 8), sets("1r", 8, 8), *rest("1")),
            (sets("2f", 8, 3), of_state("2r", State.PROBLEM, "the recording is missing"), *rest("2")),
            (
                sets("3f", 8, 8),
                of_state("3r", State.EXCLUDED, "electrode came off"),
                Cell(),
                of_state("3q", State.RECORDED),
            ),
            (sets("10f", 3), sets("10r", None, None), *rest("10")),
        ),
    )


def large(people: int = 60, conditions: int = 12) -> Grid:
    """A large study with long names of exercises."""
    columns = tuple(
        Condition(Kind.TASK, f"single-leg Romanian deadlift variant {n}", (("session", "1"), ("load", f"{n} kg")))
        for n in range(conditions)
    )
    rows = tuple(tuple(sets(f"{p}.{c}", 0, 8) for c in range(conditions)) for p in range(people))
    return Grid(tuple(f"P{p:03d}" for p in range(people)), columns, rows)


def with_cell(grid: Grid, row: int, column: int, cell: Cell) -> Grid:
    """The grid with one cell replaced."""
    cells = [list(line) for line in grid.cells]
    cells[row][column] = cell
    return Grid(grid.participants, grid.conditions, tuple(tuple(line) for line in cells))
