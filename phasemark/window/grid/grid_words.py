"""The study's grid in words, for hints, the line under it and screen readers. No Qt."""

from phasemark.results.study_conditions import Condition
from phasemark.results.study_grid import Cell, Grid, State, Total, TrialProgress

EXPLANATIONS = {
    State.PROBLEM: "cannot be used as it is; its hint says why",
    State.NO_MARKS: "recorded, not marked yet",
    State.OLDER: "marked by earlier settings; mark again, what a hand has touched stays",
    State.TO_CHECK: "marked; the sign fills as repetitions are checked",
    State.CHECKED: "all complete repetitions checked, or excluded",
    State.RECORDED: "nothing to mark",
    State.EXCLUDED: "with a reason; nothing to do",
    State.EMPTY: "this participant has none in this condition",
}


FINDINGS = "signal quality that nobody has decided about yet; it keeps no trial from being marked"


def findings_text(count: int) -> str:
    """How many findings are to be decided ('2 findings to decide')."""
    return f"{count} {'finding' if count == 1 else 'findings'} to decide"


def _and_findings(text: str, trial: TrialProgress) -> str:
    return f"{text}, {findings_text(trial.findings)}" if trial.findings else text


def trial_text(trial: TrialProgress) -> str:
    """How far a trial is ('3 of 8 repetitions checked, 2 findings to decide')."""
    return _and_findings(_state_text(trial), trial)


def _state_text(trial: TrialProgress) -> str:
    noun = "repetition" if trial.reps == 1 else "repetitions"
    if trial.state is State.TO_CHECK:
        return f"{trial.checked} of {trial.reps} {noun} checked"
    if trial.state is State.OLDER:
        return f"marks older than the settings, {trial.checked} of {trial.reps} {noun} checked"
    if trial.state is State.CHECKED:
        return f"all {trial.reps} {noun} checked" if trial.reps > 1 else "its one repetition checked"
    if trial.state is State.RECORDED:
        return f"recorded, {trial.note or 'nothing to mark'}"
    return f"{trial.state}: {trial.note}" if trial.note else str(trial.state)


def labelled_text(trial: TrialProgress) -> str:
    """A trial of a cell with what it is called there ('set 2: no marks')."""
    return f"{trial.label}: {trial_text(trial)}" if trial.label else trial_text(trial)


def _short_text(trial: TrialProgress) -> str:
    if trial.state is State.OLDER:
        return _and_findings(f"{trial.label}: {trial.state}, {trial.checked} of {trial.reps}", trial)
    if trial.state in (State.TO_CHECK, State.CHECKED):
        return _and_findings(f"{trial.label}: {trial.checked} of {trial.reps}", trial)
    return labelled_text(trial)


def cell_text(participant: str, condition: Condition, cell: Cell) -> str:
    """A cell in a sentence ('P03, squat heels flat: 3 of 8 repetitions checked')."""
    return f"{participant}, {condition.text}: {_cell_words(cell)}"


def _cell_words(cell: Cell) -> str:
    if len(cell.trials) < 2:
        return trial_text(cell.trials[0]) if cell.trials else str(State.EMPTY)
    if cell.reps:
        each = "; ".join(_short_text(trial) for trial in cell.trials)
        return f"{cell.checked} of {cell.reps} repetitions checked ({each})"
    texts = {trial_text(trial) for trial in cell.trials}
    if len(texts) == 1:
        return f"{len(cell.trials)} trials, {texts.pop()}"
    return "; ".join(labelled_text(trial) for trial in cell.trials)


def cell_lines(participant: str, condition: Condition, cell: Cell) -> str:
    """A cell for a hint: where it is, then a line for each trial."""
    lines = [labelled_text(trial) for trial in cell.trials] or [str(State.EMPTY)]
    return "\n".join([f"{participant}, {condition.text}", *lines])


def count_text(cell: Cell) -> str:
    """The short count in a cell ('3/8'); empty where its signs say all."""
    return f"{cell.checked}/{cell.reps}" if cell.reps else ""


def total_texts(total: Total) -> tuple[str, ...]:
    """A column's total, the longest way of saying it first ('14 of 24 checked', '14 of 24', '14/24')."""
    if total.trials:
        short = f"{total.checked} of {total.trials}"
        return f"{short} checked", short, f"{total.checked}/{total.trials}"
    if total.recorded:
        return f"{total.recorded} recorded", ""
    return ("",)


def study_total_text(grid: Grid) -> str:
    """How far the study is ('31 of 48 trials checked')."""
    total = grid.total
    if not total.trials:
        return "Nothing to check" if grid.participants else "No trials"
    return f"{total.checked} of {total.trials} {'trial' if total.trials == 1 else 'trials'} checked"
