"""A comparison under every variant of its analysis: each recording is read once, and what it gives is gathered."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeVar

from phasemark.model.errors import PhasemarkError
from phasemark.model.marks import Marks
from phasemark.model.plan import AnalysisPlan
from phasemark.model.settings import Settings, ThirdsRule
from phasemark.model.study import Kind, Study, Trial
from phasemark.phases.movement import Movement
from phasemark.phases.thirds import place_all_thirds
from phasemark.results.comparison.levels import level_of
from phasemark.results.figures.figure_files import svg_files
from phasemark.results.numbers import Numbers
from phasemark.results.robustness.frame import Draws, Frame, frame_of, participants_trials
from phasemark.results.robustness.people import Gathering
from phasemark.results.robustness.picture import robustness_picture
from phasemark.results.robustness.report import Robustness, robustness_of
from phasemark.results.robustness.tables import robustness_texts
from phasemark.results.robustness.trial_values import TrialValues, needs_signals, trial_values
from phasemark.results.robustness.variants import Group, OtherMarks, variants_of
from phasemark.session.comparing import Asked, Carried, carried_plan
from phasemark.session.exporting import libraries, refuse_file
from phasemark.session.measuring import Measured, measure, stale_trials
from phasemark.session.planning import COMPARED
from phasemark.session.reading import read_or_problem
from phasemark.session.session import Session
from phasemark.session.trial_signals import movement_of
from phasemark.store import disk
from phasemark.store.recordings import StoredRecording
from phasemark.worker import JobChain, Progress

T = TypeVar("T")
_TITLE = "varying the analysis"
_MEASURING, _READING = 0.4, 0.95
_THIRDS = {
    ThirdsRule.REP: "thirds of the repetition's range",
    ThirdsRule.TRIAL: "thirds of the trial's range",
    ThirdsRule.TIME: "thirds of time",
}


@dataclass(frozen=True, slots=True)
class How:
    """What is varied, and how often boundaries are drawn, from which seed."""

    groups: frozenset[Group] = frozenset(Group)
    draws: Draws = field(default_factory=Draws)


@dataclass(frozen=True, slots=True)
class Varied:
    """A comparison under its variants, the plan that was carried out, files written, and what was wrong."""

    robustness: Robustness
    carried: Carried
    files: tuple[Path, ...] = ()
    problems: tuple[PhasemarkError, ...] = ()


def vary(
    session: Session,
    asked: Asked,
    how: How | None = None,
    *,
    to: Path | None = None,
    done: Callable[[Varied], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None] = lambda _: None,
) -> JobChain:
    """Work out which findings of a comparison stand and, where a folder is named, write tables and picture into it.

    What is stale is measured first; recordings are then read once for all variants, one after the other, and no more
    than a few are held. Nothing is kept in the project file; the ledger says that results were shown. failed gets
    BadCall or BadData where what is asked cannot be compared, and Cancelled where it was stopped.
    """
    work = _Varying(session, asked, how or How(), to, done, failed, progressed)
    work.start()
    return work.chain


@dataclass(eq=False)
class _Varying:
    """The steps of the work, each of which starts the next; they run on the session's thread."""

    session: Session
    asked: Asked
    how: How
    to: Path | None
    done: Callable[[Varied], None]
    failed: Callable[[BaseException], None]
    progressed: Callable[[float], None]
    chain: JobChain = field(default_factory=JobChain)
    problems: list[PhasemarkError] = field(default_factory=list)
    measuring: float = _MEASURING

    def start(self) -> None:
        """Measure what is stale, then go on."""
        stale = stale_trials(self.session)
        if not stale:
            self.measuring = 0.0
            self._prepare(Measured(0))
            return

        def measuring(share: float) -> None:
            self.progressed(self.measuring * share)

        self.chain.go_on_with(
            measure(self.session, stale, done=self._prepare, failed=self.failed, progressed=measuring)
        )

    def _prepare(self, measured: Measured) -> None:
        self.problems += measured.problems
        numbers, decision = self.session.numbers(), self.session.decision()

        def apart(_: Progress) -> tuple[Carried, Frame]:
            if self.to is not None:
                refuse_file(self.to)
            carried = carried_plan(numbers, self.asked, decision)
            return carried, frame_for(numbers, carried, self.how)

        self._run(apart, lambda found: self._read(*found))

    def _read(self, carried: Carried, frame: Frame) -> None:
        gathering = Gathering(frame)
        from_disk = read_or_problem(self.session.folder)
        trials = [trial for own in participants_trials(frame).values() for trial in own]

        def go_on(found: list[PhasemarkError | None]) -> None:
            self.problems += [problem for problem in found if problem is not None]
            self._bring_together(carried, frame, gathering)

        def reading(share: float) -> None:
            self.progressed(self.measuring + (_READING - self.measuring) * share)

        self.chain.go_on_with(
            self.session.worker.run_each(
                _TITLE,
                trials,
                lambda trial: from_disk(trial) if needs_signals(frame, trial) else None,
                lambda trial, stored: gathered(frame, gathering, trial, stored),
                done=go_on,
                failed=self.failed,
                progressed=reading,
            )
        )

    def _bring_together(self, carried: Carried, frame: Frame, gathering: Gathering) -> None:
        problems = tuple(self.problems)

        def apart(_: Progress) -> Varied:
            found = robustness_of(frame, gathering.people(), (str(problem) for problem in problems))
            return Varied(found, carried, problems=problems)

        self._run(apart, self._write)

    def _write(self, found: Varied) -> None:
        to = self.to
        if to is None:
            self._keep(found)
            return

        def on_disk(_: Progress) -> Varied:
            return replace(found, files=write_robustness(found.robustness, to))

        worker = self.session.worker
        self.chain.go_on_with(worker.run("writing", on_disk, on=worker.disk, done=self._keep, failed=self.failed))

    def _keep(self, found: Varied) -> None:
        plan = found.carried.plan
        planned = "as planned" if found.carried.planned else "exploratory"
        self.session.note(f"{COMPARED}{plan.a} with {plan.b} under variants of the analysis ({planned})")
        self.progressed(1.0)
        self.done(found)

    def _run(self, apart: Callable[[Progress], T], then: Callable[[T], None]) -> None:
        worker = self.session.worker
        self.chain.go_on_with(worker.run(_TITLE, apart, on=worker.compute, done=then, failed=self.failed))


def gathered(
    frame: Frame, gathering: Gathering, trial: Trial, stored: StoredRecording | PhasemarkError | None
) -> PhasemarkError | None:
    """Gather what a trial gives, None where no variant needs its recording; gives back what was wrong with it."""
    if isinstance(stored, PhasemarkError):
        gathering.add(trial, None)
        return stored
    if stored is None:
        gathering.add(trial, TrialValues(trial.id))
        return None
    marks = other_marks(frame, trial, stored)
    gathering.add(trial, trial_values(frame, trial, stored.emg_values, marks), marks)
    return None


def write_robustness(found: Robustness, to: Path) -> tuple[Path, ...]:
    """Write the tables and the picture of robustness into a folder; on any thread."""
    disk.make_folder(to)
    texts = robustness_texts(found, libraries()) | svg_files("robustness", robustness_picture(found))
    files = {to / name: text for name, text in texts.items()}
    disk.write_together(files, lambda _: None)
    return tuple(files)


def frame_for(numbers: Numbers, carried: Carried, how: How) -> Frame:
    """The frame that trials are worked out under, with the marks that this study can hand in."""
    others = {other.key: other for other in (*_other_raters(numbers, carried.plan), *_other_thirds(numbers.study))}
    variants = variants_of(numbers, carried.plan, others, how.groups)
    return frame_of(
        numbers,
        carried.plan,
        variants,
        draws=how.draws,
        groups=how.groups,
        effect_named=carried.effect_named,
    )


def _compared_trials(study: Study, plan: AnalysisPlan) -> tuple[Trial, ...]:
    return tuple(t for t in study.trials if t.kind is Kind.TASK and level_of(t, plan.factor) in (plan.a, plan.b))


def _other_raters(numbers: Numbers, plan: AnalysisPlan) -> tuple[OtherMarks, ...]:
    """Every other rater with marks of a trial compared; the name says of how many, the rest stay as planned."""
    trials = _compared_trials(numbers.study, plan)
    own = [t for t in trials if t.marks_of(numbers.rater).reps]
    found = []
    for rater in dict.fromkeys(marks.rater for trial in trials for marks in trial.marks):
        marked = sum(bool(trial.marks_of(rater).reps) for trial in own)
        if rater != numbers.rater and marked:
            part = "" if marked == len(own) else f", {marked} of {len(own)} trials"
            found.append(OtherMarks(_rater_key(rater), Group.RATER, f"marks of {rater}{part}"))
    return tuple(found)


def _other_thirds(study: Study) -> tuple[OtherMarks, ...]:
    """Thirds by every other rule, where there are thirds and a movement trace to place them by."""
    planned = study.settings.phases.thirds
    if planned is ThirdsRule.NONE or not any(t.movement for t in study.trials if t.kind is Kind.TASK):
        return ()
    return tuple(
        OtherMarks(_thirds_key(rule), Group.THIRDS, name) for rule, name in _THIRDS.items() if rule is not planned
    )


def _rater_key(rater: str) -> str:
    return f"rater {rater}"


def _thirds_key(rule: ThirdsRule) -> str:
    return f"thirds {rule}"


def other_marks(frame: Frame, trial: Trial, stored: StoredRecording) -> dict[str, Marks]:
    """A trial's other marks by their key: each other rater's, and those with thirds by each other rule."""
    numbers = frame.numbers
    wanted = {variant.marks for variant in frame.variants.all}
    found = {
        _rater_key(marks.rater): replace(marks, rater=numbers.rater)
        for marks in trial.marks
        if marks.reps and _rater_key(marks.rater) in wanted
    }
    own = trial.marks_of(numbers.rater)
    rules = [rule for rule in _THIRDS if _thirds_key(rule) in wanted]
    if rules and own.reps and trial.movement:
        movement = movement_of(trial, stored.movement_values, numbers.study.settings)
        found |= {_thirds_key(rule): with_thirds(own, movement, numbers.study.settings, rule) for rule in rules}
    return found


def with_thirds(marks: Marks, movement: Movement | None, settings: Settings, rule: ThirdsRule) -> Marks:
    """Marks with their automatic third lines by another rule; hand-placed ones stay.

    The thirds keep the names they have, so that they can be compared: a phase has its thirds in the same order in time
    by height as by time.
    """
    phases = replace(settings.phases, thirds=rule, fixed_levels=None)
    return replace(place_all_thirds(marks, movement, phases), thirds_rule=marks.thirds_rule)
