"""Automatic marks of many trials: what moves is looked at first, then each exercise says which phase comes first."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from phasemark.model.errors import PhasemarkError
from phasemark.model.marks import Marks, Phase
from phasemark.model.settings import EnvelopeKind, Settings
from phasemark.model.study import Study, Trial
from phasemark.model.study_edits import with_trial
from phasemark.phases.bursts import mark_bursts
from phasemark.phases.detect import find_phases
from phasemark.phases.marking import mark_trial
from phasemark.phases.movement import Movement
from phasemark.phases.pairing import Opening, opening, vote_first_phase
from phasemark.results.holds import is_hold
from phasemark.session.reading import parted, read_or_problem, where_read
from phasemark.session.session import Session
from phasemark.session.trial_signals import movement_of
from phasemark.signal.conditioning import condition
from phasemark.signal.envelope import envelope
from phasemark.store.recordings import StoredRecording
from phasemark.worker import Job


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What was seen in a trial: its movement and which phase it opens with, or marks of bursts where it has none."""

    trial: Trial
    movement: Movement | None
    opens_with: Opening | None
    bursts: Marks | None = None
    phases: tuple[Phase, ...] = ()


@dataclass(frozen=True, slots=True)
class Marked:
    """The ids of the trials that were marked, and what was wrong with those left out."""

    trials: tuple[str, ...]
    problems: tuple[PhasemarkError, ...] = ()


def to_mark(session: Session, *, again: bool) -> tuple[Trial, ...]:
    """Trials that marking is for: those without marks by this rater, or all of them again; never isometric holds."""
    return tuple(
        trial
        for trial in session.study.trials
        if trial.kind.holds_reps
        and not is_hold(session.study, trial)
        and (again or not trial.marks_of(session.rater).phase_rule)
    )


def look_at(trial: Trial, stored: StoredRecording, settings: Settings, rater: str) -> Seen:
    """Filter a trial's movement and find what it opens with; without movement, find the bursts of its first channel."""
    movement = movement_of(trial, stored.movement_values, settings)
    if movement is not None:
        phases = find_phases(movement, settings.phases)
        return Seen(trial, movement, opening(phases, movement, settings.phases), phases=phases)
    first = trial.emg[0]
    channel = condition(stored.emg_values[0], first, settings.filter_for(first.muscle))
    bursts = mark_bursts(
        envelope(channel, settings.envelope),
        channel.rate,
        trial.clock,
        trial.length,
        settings.phases,
        trial.marks_of(rater),
        window_s=settings.envelope.window_s if settings.envelope.kind is EnvelopeKind.MOVING_RMS else 0.0,
    )
    return Seen(trial, None, None, bursts)


def first_phases(study: Study, seen: Sequence[Seen]) -> dict[str, str]:
    """The first phase of each exercise: as stated, else what most of its trials show."""
    shown: dict[str, list[Opening | None]] = {}
    for one in seen:
        shown.setdefault(one.trial.exercise, []).append(one.opens_with)
    return {name: study.exercise(name).first_phase or vote_first_phase(votes) for name, votes in shown.items()}


def marks_from(one: Seen, first_phase: str, settings: Settings, rater: str) -> Marks:
    """Automatic marks of a trial that was looked at, where a hand has not been."""
    if one.movement is None:
        return one.bursts or one.trial.marks_of(rater)
    return mark_trial(one.movement, settings.phases, first_phase, one.trial.marks_of(rater), one.phases)


def mark(
    session: Session,
    trials: Sequence[Trial],
    *,
    done: Callable[[Marked], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None] = lambda _: None,
) -> Job[list[Seen | PhasemarkError]]:
    """Mark trials automatically as one edit.

    A trial whose recording cannot be read is left out and said; one whose marks a hand changed meanwhile is left as
    the hand has it, one that is gone is left out.
    """
    study, settings, rater = session.study, session.study.settings, session.rater

    def compute(trial: Trial, stored: StoredRecording) -> Seen:
        return look_at(trial, stored, settings, rater)

    def seen_all(found: list[Seen | PhasemarkError]) -> None:
        seen, problems = parted(found)
        first = first_phases(study, _with_neighbours(study, seen))
        session.worker.run(
            "marking",
            lambda _: [marks_from(one, first[one.trial.exercise], settings, rater) for one in seen],
            on=session.worker.compute,
            done=lambda marks: keep(seen, marks, problems),
            failed=failed,
        )

    def keep(seen: list[Seen], marks: list[Marks], problems: tuple[PhasemarkError, ...]) -> None:
        after, marked = session.study, []
        for one, found in zip(seen, marks, strict=True):
            now = next((trial for trial in after.trials if trial.id == one.trial.id), None)
            if now is not None and now.marks_of(rater) == one.trial.marks_of(rater):
                after = with_trial(after, now.with_marks(found))
                marked.append(one.trial.id)
        only = marked[0] if len(marked) == 1 else ""
        session.edit(f"marked {f'trial {only}' if only else f'{len(marked)} trials'} automatically", after, only)
        done(Marked(tuple(marked), problems))

    return session.worker.run_each(
        "looking at the movement",
        trials,
        read_or_problem(session.folder),
        where_read(compute),
        done=seen_all,
        failed=failed,
        progressed=progressed,
    )


def mark_one(
    session: Session,
    trial_id: str,
    *,
    done: Callable[[Marked], None],
    failed: Callable[[BaseException], None],
    progressed: Callable[[float], None] = lambda _: None,
) -> Job[list[Seen | PhasemarkError]]:
    """Mark one trial automatically, also again and of whatever kind, as mark does: a hand's work stays.

    Where nothing is stated, the first phase is what the trials of its exercise show that were marked before.
    """
    return mark(session, (session.study.trial(trial_id),), done=done, failed=failed, progressed=progressed)


def _with_neighbours(study: Study, seen: Sequence[Seen]) -> list[Seen]:
    """What was seen, and what trials marked before show: each of their reps' first phase is a vote already cast."""
    fresh = {one.trial.id for one in seen}
    before = [
        Seen(trial, None, Opening(rep.phases[0].name, clear=True))
        for trial in study.trials
        if trial.id not in fresh
        for marks in trial.marks[:1]
        for rep in [next((r for r in marks.reps if r.complete), None)]
        if rep is not None
    ]
    return [*seen, *before]
