"""Mean curves of a study: worked out on demand in one pass over the recordings, and kept as long as nothing changes."""

from collections.abc import Callable, Hashable, Mapping, Sequence

from phasemark.model.errors import PhasemarkError
from phasemark.model.marks import Marks
from phasemark.model.plan import AnalysisPlan
from phasemark.model.recording import Samples, Up
from phasemark.model.settings import Settings
from phasemark.model.study import Study, Trial
from phasemark.phases.movement import Movement
from phasemark.results.comparison.levels import tasks
from phasemark.results.comparison.reading import sides_of
from phasemark.results.measure import condition_trial
from phasemark.results.numbers import Numbers
from phasemark.results.phase_curves import RepCurve, StudyCurves, curves_of_trial, study_curves
from phasemark.session.figure_curves import positions_at
from phasemark.session.measuring import Measured, measure, stale_trials
from phasemark.session.reading import parted, read_or_problem, where_read
from phasemark.session.session import Session
from phasemark.session.trial_signals import movement_of, signals_key
from phasemark.signal.envelope import envelope
from phasemark.store.recordings import StoredRecording
from phasemark.worker import JobChain

_MEASURING = 0.5

TrialCurves = tuple[RepCurve, ...]


class KeptCurves:
    """The curves of every rep by trial, each with what it was worked out from. For the session's thread."""

    def __init__(self) -> None:
        self._held: dict[str, tuple[Hashable, TrialCurves]] = {}

    def of(self, trial: Trial, rater: str, settings: Settings) -> TrialCurves | None:
        """The curves of a trial, None where there are none yet or where something changed since."""
        held = self._held.get(trial.id)
        return held[1] if held is not None and held[0] == curves_key(trial, rater, settings) else None

    def keep(self, trial: Trial, rater: str, settings: Settings, curves: TrialCurves) -> None:
        """Hold the curves of a trial."""
        self._held[trial.id] = (curves_key(trial, rater, settings), curves)

    def forget_others(self, study: Study) -> None:
        """Give up the curves of trials that the study has no more."""
        there = {trial.id for trial in study.trials}
        self._held = {trial_id: held for trial_id, held in self._held.items() if trial_id in there}


def curves_key(trial: Trial, rater: str, settings: Settings) -> Hashable:
    """What the curves of a trial's reps depend on: its signals and where the phases of each rep begin and end.

    Not on what counts, nor on references: these are looked up each time curves are put together.
    """
    marks = trial.marks_of(rater)
    phases = tuple((rep.id, tuple((p.name, p.begin.sample, p.end.sample) for p in rep.phases)) for rep in marks.reps)
    return (signals_key(trial, settings), rater, phases)


def trial_curves(trial: Trial, marks: Marks, stored: StoredRecording, settings: Settings) -> TrialCurves:
    """The curves of every rep of a trial from its recording; for a computing thread."""
    conditioned = condition_trial(trial, stored.emg_values, settings)
    envelopes = [envelope(channel, settings.envelope) for channel in conditioned]
    movement = movement_of(trial, stored.movement_values, settings)
    return curves_of_trial(trial, marks, envelopes, None if movement is None else heights_of(movement))


def heights_of(movement: Movement) -> Callable[[Samples], Samples]:
    """A function that gives the height (larger is raised) at places on the recording's clock."""
    turn = 1.0 if movement.up is Up.LARGER else -1.0
    return lambda places: turn * positions_at(movement, places)


def load_curves(
    session: Session,
    kept: KeptCurves,
    *,
    plan: AnalysisPlan | None = None,
    done: Callable[[StudyCurves, tuple[PhasemarkError, ...]], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None] = lambda _: None,
) -> JobChain:
    """Mean curves of the study as it is now; done gets them, and what was wrong with trials that are left out.

    What is not measured is measured first, since references may hang on it. Only trials whose curves are not kept are
    read. plan: the comparison that they are for, whose factor and sides they then have (None: exercises, and every side
    by itself). Where the study changes meanwhile, trials whose curves are no longer current are left out: ask again.
    """
    chain, study, rater = JobChain(), session.study, session.rater
    settings, marked = study.settings, [trial for trial in tasks(study) if trial.marks_of(session.rater).reps]
    stale = stale_trials(session)
    begun = _MEASURING if stale else 0.0

    def read(measured: Measured) -> None:
        wanted = [trial for trial in marked if kept.of(trial, rater, settings) is None]

        def compute(trial: Trial, stored: StoredRecording) -> tuple[Trial, TrialCurves]:
            return trial, trial_curves(trial, trial.marks_of(rater), stored, settings)

        chain.go_on_with(
            session.worker.run_each(
                "curves over each phase",
                wanted,
                read_or_problem(session.folder),
                where_read(compute),
                done=lambda found: finish(found, measured.problems),
                failed=failed,
                progressed=lambda share: progressed(begun + (1 - begun) * share),
            )
        )

    def finish(found: Sequence[tuple[Trial, TrialCurves] | PhasemarkError], before: tuple[PhasemarkError, ...]) -> None:
        whole, wrong = parted(found)
        for trial, curves in whole:
            kept.keep(trial, rater, settings, curves)
        kept.forget_others(session.study)
        numbers, held = session.numbers(), kept_curves(session, kept)
        problems = tuple({str(problem): problem for problem in (*before, *wrong)}.values())
        chain.go_on_with(
            session.worker.run(
                "mean curves",
                lambda _: _put_together(numbers, held, plan),
                on=session.worker.compute,
                done=lambda curves: done(curves, problems),
                failed=failed,
            )
        )

    if stale:
        chain.go_on_with(
            measure(session, stale, done=read, failed=failed, progressed=lambda share: progressed(begun * share))
        )
    else:
        read(Measured(0))
    return chain


def _put_together(numbers: Numbers, held: Mapping[str, TrialCurves], plan: AnalysisPlan | None) -> StudyCurves:
    if plan is None:
        return study_curves(numbers, held)
    return study_curves(numbers, held, factor=plan.factor, sides=sides_of(numbers, plan))


def kept_curves(session: Session, kept: KeptCurves) -> Mapping[str, TrialCurves]:
    """The curves that are kept and are still those of the study as it is, by trial id."""
    settings = session.study.settings
    found = {trial.id: kept.of(trial, session.rater, settings) for trial in tasks(session.study)}
    return {trial_id: curves for trial_id, curves in found.items() if curves is not None}
