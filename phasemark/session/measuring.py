"""Measuring: the values of every trial that is marked and whose results are absent or stale."""

from collections.abc import Callable, Sequence

from phasemark.model.study import Trial
from phasemark.results.measure import TrialResults, condition_trial, measure_trial, results_key
from phasemark.session.session import Session
from phasemark.store.recordings import StoredRecording
from phasemark.worker import Job


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
    done: Callable[[int], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None] = lambda _: None,
) -> Job[list[TrialResults]]:
    """Measure trials and keep the results; done gets how many trials were measured."""
    settings, rater, folder = session.study.settings, session.rater, session.folder

    def read(trial: Trial) -> StoredRecording:
        return folder.read_recording(trial.recording)

    def compute(trial: Trial, stored: StoredRecording) -> TrialResults:
        marks = trial.marks_of(rater)
        if not trial.emg:
            return TrialResults(trial.id, rater, results_key(trial, marks, settings), ())
        return measure_trial(trial, marks, condition_trial(trial, stored.emg_values, settings), settings)

    def keep(found: list[TrialResults]) -> None:
        session.keep_results(found)
        done(len(found))

    return session.worker.run_each("measuring", trials, read, compute, done=keep, failed=failed, progressed=progressed)
