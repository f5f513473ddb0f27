"""From the current numbers of a study to participants' cells: which reps, in which unit, under which side."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from math import isfinite

from phasemark.model.plan import AnalysisPlan, Outcome
from phasemark.model.recording import EmgChannel, Side
from phasemark.model.study import Trial
from phasemark.results.comparison.cells import MILLIVOLTS, PERCENT, CellKey, CellValues, RepValue, cells_from
from phasemark.results.comparison.levels import level_of, paired_phase, tasks
from phasemark.results.measure import Value
from phasemark.results.numbers import Numbers
from phasemark.results.referencing import Normaliser
from phasemark.results.segments import HOLD
from phasemark.results.standing import standing
from phasemark.results.value_cells import normalised
from phasemark.signal.attempts import Attempt
from phasemark.signal.baseline import without_noise

Sides = dict[tuple[str, Side], Side]


@dataclass(frozen=True, slots=True)
class Unit:
    """The unit of a comparison, whether a smallest effect planned for the study is in it, and what to say of it."""

    name: str
    effect_applies: bool = True
    said: tuple[str, ...] = ()


def unit_of(numbers: Numbers, plan: AnalysisPlan) -> Unit:
    """Percent of the reference where every muscle that is compared has one in all who did both levels, else mV.

    Means over values of which some are in percent and some in mV would say nothing.
    """
    channels = list(_channels(numbers, plan))
    people = [
        {trial.participant for trial, _ in channels if level_of(trial, plan.factor) == level}
        for level in (plan.a, plan.b)
    ]
    both = people[0] & people[1]
    wanted = {
        (trial.participant, trial.session, trial.emg[place].muscle): numbers.normaliser(trial, trial.emg[place])
        for trial, place in channels
        if trial.participant in both
    }
    without = [key for key, found in wanted.items() if not _has_reference(found, plan.outcome)]
    if not without and wanted:
        return Unit(PERCENT)
    if len(without) == len(wanted):
        return Unit(MILLIVOLTS, said=(_NO_REFERENCE,))
    who: dict[str, list[str]] = {}
    for participant, _, muscle in without:
        who.setdefault(participant, [])
        if muscle not in who[participant]:
            who[participant].append(muscle)
    named = "; ".join(f"{participant}: {', '.join(found)}" for participant, found in who.items())
    sentence = (
        f"The comparison is in mV and not in percent, since not all have a reference ({named}). Give them one, or "
        "exclude these channels; the planned smallest effect, in percentage points, is not applied to mV."
    )
    return Unit(MILLIVOLTS, False, (sentence,))


_NO_REFERENCE = (
    "Values are in mV: no muscle has a reference. Electrodes, skin and tissue differ between people, so that those "
    "with large signals weigh more in a mean difference; the ratio of geometric means does not suffer from that."
)


def _channels(numbers: Numbers, plan: AnalysisPlan) -> Iterator[tuple[Trial, int]]:
    """The channels of task trials that have a level and one of the plan's muscles, and are not excluded."""
    for trial in tasks(numbers.study):
        if trial.id not in numbers.results or not level_of(trial, plan.factor):
            continue
        excluded = {(x.muscle, x.side) for x in trial.excluded_channels}
        for place, channel in enumerate(trial.emg):
            if channel.muscle in plan.muscles and (channel.muscle, channel.side) not in excluded:
                yield trial, place


def _has_reference(found: Normaliser | None, outcome: Outcome) -> bool:
    if found is None:
        return False
    value = found.rms if outcome is Outcome.RMS else found.mean_amplitude
    return isfinite(value) and value > 0


@dataclass(frozen=True, slots=True)
class MeasuredChannel:
    """One channel of a trial and all that turns its values into the unit of the comparison."""

    trial: Trial
    channel: EmgChannel
    normaliser: Normaliser | None
    noise: Attempt | None

    def amplitude(self, value: Value, outcome: Outcome, unit: str, *, subtract: bool) -> float:
        """A value in the unit of the comparison; nan where it has no reference, or is itself missing."""
        if unit == PERCENT:
            percent = normalised(value, self.normaliser, self.noise, subtract=subtract)
            return percent.rms if outcome is Outcome.RMS else percent.mean_amplitude
        rms = outcome is Outcome.RMS
        found = value.amplitude.rms if rms else value.amplitude.mean_amplitude
        if not subtract or self.noise is None:
            return found
        return without_noise(found, self.noise.rms if rms else self.noise.mean_amplitude)


def sides_of(numbers: Numbers, plan: AnalysisPlan) -> Sides:
    """The side that each muscle and side is compared under.

    Sides are kept apart where anybody has a muscle on two of them. Where everybody has it on one only, but not all on
    the same (the leg that jumps, the injured one), they are taken together.
    """
    held: dict[str, dict[str, set[Side]]] = {}
    for trial, place in _channels(numbers, plan):
        channel = trial.emg[place]
        held.setdefault(channel.muscle, {}).setdefault(trial.participant, set()).add(channel.side)
    found: Sides = {}
    for muscle, per_person in held.items():
        every = set().union(*per_person.values())
        together = len(every) > 1 and all(len(sides) == 1 for sides in per_person.values())
        found.update({(muscle, side): Side.NONE if together else side for side in every})
    return found


@dataclass(frozen=True, slots=True)
class CountedValue:
    """A value that counts: its cell, the number of its rep (0 for a hold), the value itself, and its channel."""

    key: CellKey
    rep: int
    value: Value
    channel: MeasuredChannel


def rep_values(numbers: Numbers, plan: AnalysisPlan, unit: str, sides: Sides | None = None) -> Iterator[RepValue]:
    """The value of every counted rep of the plan's muscles, on every level of its factor, in all phases and thirds.

    sides are those of sides_of, worked out here where they are not given.
    """
    subtract = numbers.study.settings.baseline.subtract
    for one in counted_values(numbers, plan, sides):
        amplitude = one.channel.amplitude(one.value, plan.outcome, unit, subtract=subtract)
        yield RepValue(one.key, one.channel.trial.id, one.channel.trial.set, one.rep, amplitude)


def counted_values(numbers: Numbers, plan: AnalysisPlan, sides: Sides | None = None) -> Iterator[CountedValue]:
    """The values that rep_values states in the unit of the comparison, as they were measured."""
    under = sides_of(numbers, plan) if sides is None else sides
    for trial, group in groupby(_channels(numbers, plan), lambda found: found[0]):
        channels = {
            place: MeasuredChannel(
                trial, trial.emg[place], numbers.normaliser(trial, trial.emg[place]),
                numbers.baseline(trial, trial.emg[place]),
            )
            for _, place in group
        }  # fmt: skip
        yield from _trial_values(numbers, plan, channels, under)


def _trial_values(
    numbers: Numbers, plan: AnalysisPlan, channels: dict[int, MeasuredChannel], sides: Sides
) -> Iterator[CountedValue]:
    study = numbers.study
    trial = next(iter(channels.values())).trial
    level = level_of(trial, plan.factor)
    marks = trial.marks_of(numbers.rater)
    places, counted = marks.numbers(), study.settings.counted
    values = numbers.results[trial.id].values
    phases = {word: paired_phase(study, trial, word) for word in {value.segment.phase for value in values}}
    counts = {
        (rep.id, place): standing(trial, rep, own.channel, counted, places).counted
        for rep in marks.reps
        for place, own in channels.items()
    }
    for value in values:
        phase = phases[value.segment.phase]
        if value.channel not in channels or phase is None:
            continue
        if not counts.get((value.rep, value.channel), _is_hold(value)):
            continue
        own = channels[value.channel].channel
        side = sides.get((own.muscle, own.side), own.side)
        key = CellKey(trial.participant, level, own.muscle, side, phase, value.segment.third)
        yield CountedValue(key, places.get(value.rep, 0), value, channels[value.channel])


def _is_hold(value: Value) -> bool:
    """Whether it belongs to no rep but to an isometric hold, which counts unless its channel is excluded."""
    return value.rep == 0 and value.segment.phase == HOLD


def cell_values(numbers: Numbers, plan: AnalysisPlan) -> CellValues:
    """Participants' means in every cell of a plan, over counted reps and then over trials equally.

    Whole phases and whole reps are from their own samples. Cells of levels that the plan does not compare are there
    too (for more than two), as are phases and thirds that it does not name.
    """
    unit = unit_of(numbers, plan)
    return cells_from(
        rep_values(numbers, plan, unit.name), unit.name, effect_applies=unit.effect_applies, said=unit.said
    )
