"""Measuring: the values of every trial that is marked and whose results are absent or stale."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from phasemark.model.errors import PhasemarkError
from phasemark.model.study import Trial
from phasemark.results.measure import TrialResults, condition_trial, measure_trial, results_key
from phasemark.session.reading import parted, read_or_problem, where_read
from phasemark.session.session import Session
from phasemark.store.recordings import StoredRecording
from phasemark.worker import Job


@dataclass(frozen=True, slots=True)
class Measured:
    """How many trials were measured, and what was wrong with those left out."""

    count: int
    problems: tuple[PhasemarkError, ...] = ()


def stale_trials(session: Session) -> tuple[Trial, ...]:
    """Trials with marks by this rater whose results are absent or were computed from something else."""
    return tuple(
        trial
        for trial in session.study.trials
        if trial.marks_of(session.rater).reps and session.result_of(trial) is None
    )


def measure(
    session: Session,
    trials: Sequence[Trial],
    *,
    done: Callable[[Measured], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None] = lambda _: None,
) -> Job[list[TrialResults | PhasemarkError]]:
    """Measure trials and keep the results, which the ledger says; a trial that cannot be read is left out and said."""
    settings, rater = session.study.settings, session.rater

    def compute(trial: Trial, stored: StoredRecording) -> TrialResults:
        marks = trial.marks_of(rater)
        if not trial.emg:
            return TrialResults(trial.id, rater, results_key(trial, marks, settings), ())
        return measure_trial(trial, marks, condition_trial(trial, stored.emg_values, settings), settings)

    def keep(found: list[TrialResults | PhasemarkError]) -> None:
        results, problems = parted(found)
        session.keep_results(results)
        if results:
            session.note(f"measured {len(results)} trial{'' if len(results) == 1 else 's'}")
        done(Measured(len(results), problems))

    return session.worker.run_each(
        "measuring",
        trials,
        read_or_problem(session.folder),
        where_read(compute),
        done=keep,
        failed=failed,
        progressed=progressed,
    )
