"""The values that are compared: one mean a participant, level, muscle, side, phase and third."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from phasemark.model.plan import AgainstLoad
from phasemark.model.recording import Side
from phasemark.results.segments import WHOLE
from phasemark.results.summary import means_over_trials

PERCENT, MILLIVOLTS = "% of reference", "mV"


@dataclass(frozen=True, slots=True)
class CellKey:
    """Whose value of what: level is that of the factor compared, third 'whole' for a whole phase or rep."""

    participant: str
    level: str
    muscle: str
    side: Side
    phase: AgainstLoad
    third: str


@dataclass(frozen=True, slots=True)
class Place:
    """Where two levels are compared: a muscle and side, a phase, and a third of it."""

    muscle: str
    side: Side
    phase: AgainstLoad
    third: str

    @property
    def text(self) -> str:
        """In words: 'vastus medialis (right), against the load, lower third'."""
        side = "" if self.side is Side.NONE else f" ({self.side})"
        part = "whole" if self.third == WHOLE else f"{self.third} third"
        return f"{self.muscle}{side}, {self.phase}, {part}"


def place_of(key: CellKey) -> Place:
    """The place of a participant's cell."""
    return Place(key.muscle, key.side, key.phase, key.third)


@dataclass(frozen=True, slots=True)
class RepValue:
    """The value of one counted rep in one cell: its trial, its number in it, and the amplitude (nan where missing)."""

    key: CellKey
    trial: str
    set: int
    rep: int
    value: float


@dataclass(frozen=True)
class CellValues:
    """Participants' means in each cell, and what they rest on.

    values: the mean over the counted reps of each trial, then over trials equally. between_reps: SD (n - 1) of all
    counted reps of the participant in the cell, nan with under two. reps, trials: how many there are. unit is that of
    values (PERCENT or MILLIVOLTS); effect_applies says whether a smallest effect that was planned for this study is
    in that unit. said: sentences a reader must know.
    """

    values: Mapping[CellKey, float]
    between_reps: Mapping[CellKey, float]
    reps: Mapping[CellKey, int]
    trials: Mapping[CellKey, int]
    unit: str
    effect_applies: bool = True
    said: tuple[str, ...] = ()
    rep_values: tuple[RepValue, ...] = field(default=(), repr=False)

    @cached_property
    def _by_place(self) -> dict[tuple[Place, str], dict[str, float]]:
        found: dict[tuple[Place, str], dict[str, float]] = {}
        for key in sorted(self.values, key=lambda key: key.participant):
            found.setdefault((place_of(key), key.level), {})[key.participant] = self.values[key]
        return found

    def places(self) -> tuple[Place, ...]:
        """Every place that any participant has a value of, in the order found."""
        return tuple(dict.fromkeys(map(place_of, self.values)))

    def participants(self) -> tuple[str, ...]:
        """Every participant with a value, sorted."""
        return tuple(sorted({key.participant for key in self.values}))

    def of(self, place: Place, level: str) -> Mapping[str, float]:
        """The values at a place on one level, by participant, sorted."""
        return self._by_place.get((place, level), {})


def cells_from(
    rep_values: Iterable[RepValue], unit: str, *, effect_applies: bool = True, said: Sequence[str] = ()
) -> CellValues:
    """Participants' cells from the values of their reps; missing values (nan) are in no mean."""
    held = tuple(rep_values)
    per_cell: dict[CellKey, dict[str, list[float]]] = {}
    for one in held:
        if one.value == one.value:
            per_cell.setdefault(one.key, {}).setdefault(one.trial, []).append(one.value)
    found = {key: means_over_trials(per_trial) for key, per_trial in per_cell.items()}
    return CellValues(
        {key: mean for key, (mean, _) in found.items()},
        {key: spread for key, (_, spread) in found.items()},
        {key: sum(map(len, per_trial.values())) for key, per_trial in per_cell.items()},
        {key: len(per_trial) for key, per_trial in per_cell.items()},
        unit,
        effect_applies,
        tuple(said),
        held,
    )
