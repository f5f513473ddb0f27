"""The truth of the invented study as rows of text, for a file beside it."""

from collections.abc import Iterable

from phasemark.demo.invent import InventedTrial

TRUTH_COLUMNS = (
    *("participant", "session", "exercise", "set", "rep", "complete", "phase", "third", "muscle", "side"),
    *("begin_s", "end_s", "rms_mV"),
)


def truth_rows(trial: InventedTrial) -> list[tuple[str, ...]]:
    """The truth of a trial as rows of text in the order of TRUTH_COLUMNS."""
    frame = (trial.participant, trial.session, trial.exercise, str(trial.set))
    rows: list[tuple[str, ...]] = []
    for row in trial.truth:
        what = (str(row.rep), "yes" if row.complete else "no", row.phase, row.third, row.muscle, row.side.value)
        rows.append((*frame, *what, f"{row.begin_s:.6f}", f"{row.end_s:.6f}", f"{row.rms_mv:.6g}"))
    return rows


def truth_csv(trials: Iterable[InventedTrial]) -> str:
    """The truth of many trials as one comma-separated text with titles, decimal points and LF."""
    lines = [",".join(row) for trial in trials for row in truth_rows(trial)]
    return "\n".join([",".join(TRUTH_COLUMNS), *lines, ""])
