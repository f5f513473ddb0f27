"""Moving a boundary: the same function for what a drag shows and for what its release keeps."""

from collections.abc import Mapping
from dataclasses import dataclass

from phasemark.model.mark_edits import Address, joined, move_boundary
from phasemark.model.marks import Marks
from phasemark.model.settings import Settings, ThirdsRule
from phasemark.phases.thirds import place_all_thirds, place_thirds, third_levels
from phasemark.results.measure import Value, measure_rep
from phasemark.session.trial_signals import TrialSignals

Levels = Mapping[int, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Moved:
    """Marks with a boundary moved and the values of the reps that this touched, by rep id."""

    marks: Marks
    values: Mapping[int, tuple[Value, ...]]


def move(marks: Marks, address: Address, sample: int, signals: TrialSignals, settings: Settings) -> Marks:
    """The marks with one boundary moved by hand and the automatic third lines of its rep placed anew.

    Where the settings have another rule of thirds now than the marks were made by, automatic lines are only kept
    inside their phases: one trial is never cut by two rules. Marking again brings the new rule.
    """
    touched = _touched(marks, address)
    moved = move_boundary(marks, address, sample)
    if moved is marks or marks.thirds_rule not in ("", settings.phases.thirds):
        return moved
    if settings.phases.thirds is ThirdsRule.TRIAL:  # one rep may change the levels of all
        return place_all_thirds(moved, signals.movement, settings.phases)
    for rep_id in touched:
        moved = place_thirds(moved, rep_id, signals.movement, settings.phases)
    return moved


def _touched(marks: Marks, address: Address) -> tuple[int, ...]:
    partner = joined(marks, address)
    return tuple(dict.fromkeys((address.rep, partner.rep if partner else address.rep)))


def preview_move(marks: Marks, address: Address, sample: int, signals: TrialSignals, settings: Settings) -> Moved:
    """The marks and numbers if the boundary were let go of here; only the reps it touches are measured."""
    moved = move(marks, address, sample, signals, settings)
    return Moved(moved, {i: values_of_rep(moved, i, signals, settings) for i in _touched(marks, address)})


def values_of_rep(marks: Marks, rep_id: int, signals: TrialSignals, settings: Settings) -> tuple[Value, ...]:
    """Values of all segments of a rep in every channel."""
    return measure_rep(signals.trial, marks.rep(rep_id), marks.thirds_rule, signals.conditioned, settings)


def levels_of(marks: Marks, signals: TrialSignals, settings: Settings) -> dict[int, tuple[float, float]]:
    """The two third levels of each rep in the movement trace's unit, for those that have some."""
    if signals.movement is None:
        return {}
    found = {rep.id: third_levels(rep, signals.movement, settings.phases, marks) for rep in marks.reps}
    return {rep_id: levels for rep_id, levels in found.items() if levels is not None}
