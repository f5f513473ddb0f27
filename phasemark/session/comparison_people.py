"""Participants at one place of a comparison: their values, the reps these are means of, and why one is missing."""

from dataclasses import dataclass
from math import isfinite, nan

from phasemark.model.plan import AnalysisPlan
from phasemark.model.recording import Side
from phasemark.model.study import Kind, Study, Trial
from phasemark.results.comparison.cells import CellKey, CellValues, Place, RepValue, place_of
from phasemark.results.comparison.levels import level_of, tasks
from phasemark.results.study_conditions import natural_key


@dataclass(frozen=True, slots=True)
class RepRow:
    """One rep that a participant's value is made of; rep_id is None for the hold of a trial without reps."""

    level: str
    trial: str
    rep_id: int | None
    set: int
    rep: int
    value: float


@dataclass(frozen=True, slots=True)
class PersonRow:
    """A participant at a place: the values (nan where missing), the reps they are means of, and why one is missing."""

    participant: str
    a: float
    b: float
    reps: tuple[RepRow, ...]
    why: str = ""

    @property
    def difference(self) -> float:
        """Of a over b."""
        return self.a - self.b

    def of_level(self, level: str) -> tuple[RepRow, ...]:
        """The reps of one level."""
        return tuple(rep for rep in self.reps if rep.level == level)


def people_at(study: Study, rater: str, values: CellValues, plan: AnalysisPlan, place: Place) -> tuple[PersonRow, ...]:
    """Everybody in the study at a place: those with both values first, then those who lack one, with the reason."""
    reps = _reps_at(study, rater, values, place)
    people = sorted({trial.participant for trial in study.trials}, key=natural_key)
    rows = []
    for who in people:
        a, b = (values.values.get(_key(who, level, place), nan) for level in (plan.a, plan.b))
        lacking = [level for level, value in ((plan.a, a), (plan.b, b)) if not isfinite(value)]
        why = "; ".join(why_missing(study, rater, values, plan.factor, _key(who, level, place)) for level in lacking)
        own = tuple(rep for rep in reps.get(who, ()) if rep.level in (plan.a, plan.b))
        rows.append(PersonRow(who, a, b, own, why))
    return tuple(sorted(rows, key=lambda row: bool(row.why)))


def _key(who: str, level: str, place: Place) -> CellKey:
    return CellKey(who, level, place.muscle, place.side, place.phase, place.third)


def _reps_at(study: Study, rater: str, values: CellValues, place: Place) -> dict[str, list[RepRow]]:
    ids = {trial.id: {number: rep for rep, number in trial.marks_of(rater).numbers().items()} for trial in tasks(study)}
    found: dict[str, list[RepRow]] = {}
    for one in values.rep_values:
        key = one.key
        if (key.muscle, key.side, key.phase, key.third) == (place.muscle, place.side, place.phase, place.third):
            found.setdefault(key.participant, []).append(_rep_row(one, ids.get(one.trial, {})))
    for reps in found.values():
        reps.sort(key=lambda rep: (rep.level, rep.set, rep.trial, rep.rep))
    return found


def _rep_row(one: RepValue, ids: dict[int, int]) -> RepRow:
    return RepRow(one.key.level, one.trial, ids.get(one.rep), one.set, one.rep, one.value)


def why_missing(study: Study, rater: str, values: CellValues, factor: str, key: CellKey) -> str:
    """Why a participant has no value in a cell, in words; factor is what its level is one of."""
    level, place = key.level, place_of(key)
    own = [trial for trial in study.trials if trial.participant == key.participant and level_of(trial, factor) == level]
    counted = [trial for trial in own if trial.kind is Kind.TASK and trial.excluded is None]
    if not counted:
        reasons = [f"{trial.id}: {trial.excluded.reason}" for trial in own if trial.excluded is not None]
        return f"{level}: excluded ({'; '.join(reasons)})" if reasons else f"{level}: no task trial"
    channels = [_channel_reason(trial, place) for trial in counted]
    if all(reason is not None for reason in channels):
        return f"{level}: {'; '.join(dict.fromkeys(filter(None, channels)))}"
    if not any(trial.marks_of(rater).reps for trial in counted):
        return f"{level}: not marked"
    if not any(one.key == key for one in values.rep_values):
        return f"{level}: no repetition counts, or none has this part"
    return f"{level}: under 90 % of the samples, or this part is never entered"


def _channel_reason(trial: Trial, place: Place) -> str | None:
    """Why a trial has no channel of the place's muscle; None where it has one."""
    channels = [c for c in trial.emg if c.muscle == place.muscle and place.side in (Side.NONE, c.side)]
    if not channels:
        return f"{place.muscle} was not recorded"
    excluded = {(x.muscle, x.side): x.decision.reason for x in trial.excluded_channels}
    reasons = [excluded.get((channel.muscle, channel.side)) for channel in channels]
    if all(reason is not None for reason in reasons):
        return f"{place.muscle} is excluded ({'; '.join(dict.fromkeys(filter(None, reasons)))})"
    return None
