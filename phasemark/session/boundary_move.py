"""Moving a boundary: the same function for what a drag shows and for what its release keeps."""

from collections.abc import Mapping
from dataclasses import dataclass

from phasemark.model.mark_edits import Address, joined, move_boundary, side_toward
from phasemark.model.marks import Marks
from phasemark.model.settings import Settings, ThirdsRule
from phasemark.phases.doubt import with_doubts
from phasemark.phases.thirds import place_all_thirds, place_thirds, third_levels
from phasemark.results.measure import Value, measure_rep
from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals

Levels = Mapping[int, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Moved:
    """Marks with a boundary moved and the values of the reps that this touched, by rep id."""

    marks: Marks
    values: Mapping[int, tuple[Value, ...]]


def move(
    marks: Marks, address: Address, sample: int, signals: TrialSignals, settings: Settings, *, alone: bool = False
) -> Marks:
    """The marks with one boundary moved by hand; automatic third lines and the doubt of its rep worked out anew.

    A joined boundary moves as one; alone parts it instead, on the side that side_toward names, and opens a pause.
    Where the settings have another rule of thirds now than the marks were made by, automatic lines are only kept
    inside their phases: one trial is never cut by two rules. Marking again brings the new rule.
    """
    address = side_toward(marks, address, sample) if alone else address
    touched = _touched(marks, address, alone)
    moved = move_boundary(marks, address, sample, alone=alone)
    if moved is marks:
        return marks
    moved = _with_lines(moved, touched, signals, settings)
    movement = signals.movement
    return moved if movement is None else with_doubts(moved, movement, settings.phases, only=touched)


def _with_lines(marks: Marks, touched: tuple[int, ...], signals: TrialSignals, settings: Settings) -> Marks:
    if marks.thirds_rule not in ("", settings.phases.thirds):
        return marks
    if settings.phases.thirds is ThirdsRule.TRIAL:  # one rep may change the levels of all
        return place_all_thirds(marks, signals.movement, settings.phases)
    for rep_id in touched:
        marks = place_thirds(marks, rep_id, signals.movement, settings.phases)
    return marks


def _touched(marks: Marks, address: Address, alone: bool) -> tuple[int, ...]:
    partner = None if alone else joined(marks, address)
    return tuple(dict.fromkeys((address.rep, partner.rep if partner else address.rep)))


def preview_move(
    marks: Marks, address: Address, sample: int, signals: TrialSignals, settings: Settings, *, alone: bool = False
) -> Moved:
    """The marks and numbers if the boundary were let go of here; only the reps it touches are measured."""
    moved = move(marks, address, sample, signals, settings, alone=alone)
    address = side_toward(marks, address, sample) if alone else address
    touched = _touched(marks, address, alone)
    return Moved(moved, {rep_id: values_of_rep(moved, rep_id, signals, settings) for rep_id in touched})


def move_text(before: Marks, after: Marks, address: Address) -> str:
    """What a move did in words: which boundary of which rep, whether that opened or closed a pause, lost checks."""
    phase = before.rep(address.rep).phases[address.phase].name
    number = before.numbers().get(address.rep)
    partner, now = joined(before, address), joined(after, address)
    text = f"moved {phase} {address.place} of {f'rep {number}' if number else 'an incomplete rep'}"
    if partner is not None and now is None:
        text += ", apart from its neighbour"
    elif partner is None and now is not None:
        text += ", onto its neighbour"
    lost = [rep.id for rep in before.reps if rep.checked is not None and after.rep(rep.id).checked is None]
    return text + (", which is no longer checked" if lost else "")


def keep_move(session: Session, address: Address, sample: int, signals: TrialSignals, *, alone: bool = False) -> bool:
    """Move a boundary of this rater's marks as one edit; returns whether anything changed."""
    settings, trial_id = session.study.settings, signals.trial.id
    before = session.study.trial(trial_id).marks_of(session.rater)
    address = side_toward(before, address, sample) if alone else address
    after = move(before, address, sample, signals, settings, alone=alone)
    return session.edit_marks(move_text(before, after, address), trial_id, lambda _: after)


def values_of_rep(marks: Marks, rep_id: int, signals: TrialSignals, settings: Settings) -> tuple[Value, ...]:
    """Values of all segments of a rep in every channel."""
    return measure_rep(signals.trial, marks.rep(rep_id), marks.thirds_rule, signals.conditioned, settings)


def levels_of(marks: Marks, signals: TrialSignals, settings: Settings) -> dict[int, tuple[float, float]]:
    """The two third levels of each rep in the movement trace's unit, for those that have some."""
    if signals.movement is None:
        return {}
    found = {rep.id: third_levels(rep, signals.movement, settings.phases, marks) for rep in marks.reps}
    return {rep_id: levels for rep_id, levels in found.items() if levels is not None}
