"""Marking blind: what trials go by, and in which order they are offered, so that nothing can steer a hand.

While a session is blind its decisions and gestures say so. The order is drawn anew whenever blind marking is switched
on, so that nobody learns which trial is which. Names are put in place of what gives a trial away; the study and its
ledger keep their own.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from random import Random, SystemRandom
from typing import TYPE_CHECKING

from phasemark.model.study import Kind, Study, Trial
from phasemark.results.holds import is_hold
from phasemark.results.study_conditions import Condition
from phasemark.results.study_grid import BesideMarks, Cell, Grid, hold_note, study_grid
from phasemark.session.older_marks import older_marks

if TYPE_CHECKING:
    from phasemark.session.session import Session

BLIND = " (blind)"
"""What stands at the end of the words of a gesture that was made blind."""
HIDDEN = "(hidden)"
UNREADABLE = "its recording cannot be read"
_COLUMN = Condition(Kind.TASK, "blind marking")
_LEAST_LETTERS = 2


@dataclass(frozen=True)
class Cover:
    """The ids of the trials with repetitions to mark, in the order in which they are offered."""

    order: tuple[str, ...] = ()

    def over(self, study: Study, draw: Random, away_from: str = "") -> "Cover":
        """The cover of a study as it is now: trials that are new come last, in an order of their own.

        away_from, a trial that was just in view by its name, is not the first one offered.
        """
        new = [trial.id for trial in study.trials if trial.kind.holds_reps and trial.id not in self.places]
        draw.shuffle(new)
        if not self.order and len(new) > 1 and new[0] == away_from:
            new.append(new.pop(0))
        return replace(self, order=(*self.order, *new)) if new else self

    def name(self, trial_id: str) -> str:
        """What a trial goes by ('Trial 7')."""
        place = self.places.get(trial_id)
        return "A trial without marks" if place is None else f"Trial {place + 1}"

    @cached_property
    def places(self) -> dict[str, int]:
        """Where each trial comes in the order."""
        return {trial_id: place for place, trial_id in enumerate(self.order)}


def set_blind(session: "Session", on: bool, in_view: str = "", draw: Random | None = None) -> None:
    """Mark blind from now on, or openly; in_view is the trial that is seen while it is switched on."""
    if on != session.blind:
        session.cover = Cover().over(session.study, draw or SystemRandom(), in_view) if on else None


def _cover(session: "Session") -> Cover | None:
    if session.cover is not None:
        session.cover = session.cover.over(session.study, SystemRandom())
    return session.cover


def offered(session: "Session") -> Study:
    """The study with its trials in the order in which they are offered: as they were added, or as drawn."""
    cover, study = _cover(session), session.study
    if cover is None:
        return study
    last = len(cover.order)
    return replace(study, trials=tuple(sorted(study.trials, key=lambda t: cover.places.get(t.id, last))))


def name_of(session: "Session", trial: Trial) -> str | None:
    """What a trial goes by while marking is blind; None while it is not."""
    cover = _cover(session)
    return None if cover is None else cover.name(trial.id)


def covered(session: "Session", text: str) -> str:
    """A text as it may be shown: while marking is blind nothing in it says whose trial it is or what was done in it."""
    cover = _cover(session) if text else None
    if cover is None:
        return text
    names = {word: said for word, said in _telling(session.study, cover) if word in text}
    longest_first = sorted(names, key=lambda word: (-len(word), word))
    whole_words = rf"(?<!\w)(?:{'|'.join(map(re.escape, longest_first))})(?!\w)"
    return re.sub(whole_words, lambda found: names[found.group()], text) if names else text


def _telling(study: Study, cover: Cover) -> Iterator[tuple[str, str]]:
    """What gives trials away in a text, and what is said instead; numbers and single letters do not."""
    for trial in study.trials:
        recording, own = trial.recording, cover.name(trial.id)
        ids = (trial.id, f"trial {trial.id}", f"Trial {trial.id}", recording.path, recording.id, recording.source.file)
        load = "" if trial.load is None else trial.load.text
        facts = (trial.participant, trial.exercise, load, *dict(trial.factors).values())
        for words, said in ((ids, own), (facts, HIDDEN)):
            yield from ((word, said) for word in words if len(word) >= _LEAST_LETTERS and not word.isdigit())


def grid_of(
    session: "Session", problems: Mapping[str, str] | None = None, findings: Mapping[str, int] | None = None
) -> Grid:
    """The grid of the study; while marking is blind a single column of trials by their neutral names.

    problems says, by trial id, why a recording cannot be used; findings how many findings of a trial are to be decided.
    """
    older = older_marks(session.study, session.rater)
    beside = BesideMarks(problems or {}, older, _holds(session), findings or {})
    cover = _cover(session)
    if cover is None:
        return study_grid(session.study, session.rater, beside)
    there = {trial.id: trial for trial in session.study.trials}
    trials = [there[trial_id] for trial_id in cover.order if trial_id in there]
    return Grid(tuple(cover.name(t.id) for t in trials), (_COLUMN,) if trials else (), _cells(session, trials, beside))


def _holds(session: "Session") -> dict[str, str]:
    """How far the holds of isometric exercises are measured, by trial id, in words."""
    found = {}
    for trial in session.study.trials:
        if is_hold(session.study, trial):
            result = session.result_of(trial)
            found[trial.id] = hold_note(None if result is None else len(result.values))
    return found


def _cells(session: "Session", trials: Sequence[Trial], beside: BesideMarks) -> tuple[tuple[Cell, ...], ...]:
    hiding = replace(beside, problems=dict.fromkeys(beside.problems, UNREADABLE))
    done = (hiding.progress(trial, session.rater) for trial in trials)
    return tuple((Cell((replace(each, note=covered(session, each.note)),)),) for each in done)
