"""Measuring: values of every marked trial, and quality, noise and attempts of every trial, where absent or stale."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from phasemark.model.errors import PhasemarkError
from phasemark.model.settings import Settings
from phasemark.model.study import Trial
from phasemark.results.facts import TrialFacts, holds_baseline, trial_facts
from phasemark.results.measure import MotionOf, TrialResults, condition_trial, measure_trial, results_key
from phasemark.session.reading import parted, read_or_problem, where_read
from phasemark.session.session import Session
from phasemark.session.trial_signals import movement_of, segment_motion
from phasemark.signal.conditioning import Conditioned
from phasemark.store.recordings import StoredRecording
from phasemark.worker import JobChain

Noise = tuple[float | None, ...]
Found = tuple[TrialFacts, TrialResults | None]


@dataclass(frozen=True, slots=True)
class Measured:
    """How many trials' segments were measured, and what was wrong with those left out."""

    count: int
    problems: tuple[PhasemarkError, ...] = ()


def stale_trials(session: Session) -> tuple[Trial, ...]:
    """Trials whose values by this rater, or whose facts, are absent or were computed from something else."""
    return tuple(
        trial
        for trial in session.study.trials
        if (trial.marks_of(session.rater).reps and session.result_of(trial) is None) or session.facts_of(trial) is None
    )


def measure(
    session: Session,
    trials: Sequence[Trial],
    *,
    done: Callable[[Measured], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None] = lambda _: None,
) -> JobChain:
    """Measure trials and keep the results, which the ledger says; a trial that cannot be read is left out and said.

    Trials that hold the baseline come first, since the others' signal-to-noise ratio is held against it.
    """
    chain, settings, rater = JobChain(), session.study.settings, session.rater
    rounds = [[t for t in trials if holds_baseline(t)], [t for t in trials if not holds_baseline(t)]]
    first_share = len(rounds[0]) / max(len(trials), 1)
    measured: list[TrialResults] = []
    problems: list[PhasemarkError] = []

    def run(round_: list[Trial], share: Callable[[float], float], then: Callable[[], None]) -> None:
        noise = {trial.id: session.noise_of(trial) for trial in round_}

        def compute(trial: Trial, stored: StoredRecording) -> Found:
            return _found(trial, stored, settings, rater, noise[trial.id])

        def keep(found: list[Found | PhasemarkError]) -> None:
            whole, wrong = parted(found)
            session.keep_facts([facts for facts, _ in whole])
            results = [results for _, results in whole if results is not None]
            session.keep_results(results)
            measured.extend(results)
            problems.extend(wrong)
            then()

        chain.go_on_with(
            session.worker.run_each(
                "measuring",
                round_,
                read_or_problem(session.folder),
                where_read(compute),
                done=keep,
                failed=failed,
                progressed=lambda done_share: progressed(share(done_share)),
            )
        )

    def finish() -> None:
        if measured:
            session.note(f"measured {len(measured)} trial{'' if len(measured) == 1 else 's'}")
        done(Measured(len(measured), tuple(problems)))

    def second() -> None:
        run(rounds[1], lambda share: first_share + (1 - first_share) * share, finish)

    if rounds[0]:
        run(rounds[0], lambda share: first_share * share, second)
    else:
        second()
    return chain


def _found(trial: Trial, stored: StoredRecording, settings: Settings, rater: str, noise: Noise) -> Found:
    conditioned = condition_trial(trial, stored.emg_values, settings)
    facts = trial_facts(trial, (stored.emg_values, stored.movement_values), conditioned, settings, noise)
    return facts, _results(trial, stored, conditioned, settings, rater)


def _results(
    trial: Trial, stored: StoredRecording, conditioned: tuple[Conditioned, ...], settings: Settings, rater: str
) -> TrialResults | None:
    marks = trial.marks_of(rater)
    if not marks.reps:
        return None
    if not trial.emg:
        return TrialResults(trial.id, rater, results_key(trial, marks, settings), ())
    return measure_trial(trial, marks, conditioned, settings, motion_of(trial, stored, settings))


def motion_of(trial: Trial, stored: StoredRecording, settings: Settings) -> MotionOf | None:
    """A function that reads the motion of a segment off the trace that defines a trial's phases; None without one."""
    movement = movement_of(trial, stored.movement_values, settings)
    return None if movement is None else partial(segment_motion, movement)
