"""Measuring: values of every marked trial, and quality, noise and attempts of every trial, where absent or stale."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial

from phasemark.model.errors import BadData, PhasemarkError
from phasemark.model.settings import Settings
from phasemark.model.study import Study, Trial
from phasemark.results.facts import TrialFacts, holds_baseline, trial_facts
from phasemark.results.holds import is_hold, measure_hold, nothing_held
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
    study, rater = session.study, session.rater
    return tuple(
        trial
        for trial in study.trials
        if (has_segments(study, trial, rater) and session.result_of(trial) is None) or session.facts_of(trial) is None
    )


def has_segments(study: Study, trial: Trial, rater: str) -> bool:
    """Whether a trial has anything to measure by a rater: repetitions, or the hold of an isometric exercise."""
    return is_hold(study, trial) or bool(trial.marks_of(rater).reps)


def missing_holds(session: Session, trials: Iterable[Trial]) -> tuple[BadData, ...]:
    """What to say of the trials of isometric exercises in which a stretch to measure was looked for and not found."""
    return tuple(
        BadData(nothing_held(trial, session.study.settings))
        for trial in trials
        if trial.emg
        and is_hold(session.study, trial)
        and (found := session.result_of(trial)) is not None
        and not found.values
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

    Trials that hold the baseline come first, since the others' signal-to-noise ratio is held against it. Those that
    were current until another baseline was measured are measured anew with the others.
    """
    stale_before = {trial.id for trial in (*trials, *stale_trials(session))}
    chain, study, rater = JobChain(), session.study, session.rater
    rounds = [[t for t in trials if holds_baseline(t)], [t for t in trials if not holds_baseline(t)]]
    first_share = len(rounds[0]) / max(len(trials), 1)
    measured: list[TrialResults] = []
    problems: list[PhasemarkError] = []

    def run(round_: list[Trial], share: Callable[[float], float], then: Callable[[], None]) -> None:
        noise = {trial.id: session.noise_of(trial) for trial in round_}

        def compute(trial: Trial, stored: StoredRecording) -> Found:
            return _found(study, trial, stored, rater, noise[trial.id])

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
        now = {trial.id for trial in trials}
        missing = missing_holds(session, (trial for trial in session.study.trials if trial.id in now))
        done(Measured(len(measured), (*problems, *missing)))

    def second() -> None:
        overtaken = [trial for trial in stale_trials(session) if trial.id not in stale_before]
        run([*rounds[1], *overtaken], lambda share: first_share + (1 - first_share) * share, finish)

    if rounds[0]:
        run(rounds[0], lambda share: first_share * share, second)
    else:
        second()
    return chain


def _found(study: Study, trial: Trial, stored: StoredRecording, rater: str, noise: Noise) -> Found:
    settings = study.settings
    conditioned = condition_trial(trial, stored.emg_values, settings)
    facts = trial_facts(trial, (stored.emg_values, stored.movement_values), conditioned, settings, noise)
    if not has_segments(study, trial, rater):
        return facts, None
    return facts, _results(trial, stored, conditioned, settings, rater, isometric=is_hold(study, trial))


def _results(
    trial: Trial,
    stored: StoredRecording,
    conditioned: tuple[Conditioned, ...],
    settings: Settings,
    rater: str,
    *,
    isometric: bool,
) -> TrialResults:
    marks = trial.marks_of(rater)
    if not trial.emg:
        return TrialResults(trial.id, rater, results_key(trial, marks, settings, isometric=isometric), ())
    values_of = measure_hold if isometric else measure_trial
    return values_of(trial, marks, conditioned, settings, motion_of(trial, stored, settings))


def motion_of(trial: Trial, stored: StoredRecording, settings: Settings) -> MotionOf | None:
    """A function that reads the motion of a segment off the trace that defines a trial's phases; None without one."""
    movement = movement_of(trial, stored.movement_values, settings)
    return None if movement is None else partial(segment_motion, movement)
