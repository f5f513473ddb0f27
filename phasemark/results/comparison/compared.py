"""What a comparison of two levels over participants comes to, place by place."""

from dataclasses import dataclass

from phasemark.model.errors import BadCall
from phasemark.model.plan import AgainstLoad, AnalysisPlan
from phasemark.model.recording import Side
from phasemark.results.comparison.cells import Place
from phasemark.results.comparison.needed import Needed
from phasemark.results.comparison.verdict import Verdict
from phasemark.results.segments import WHOLE
from phasemark.statistics.effect_size import EffectSizes
from phasemark.statistics.equivalence import Equivalence
from phasemark.statistics.one_sample import OneSampleT
from phasemark.statistics.percent import Ratio
from phasemark.statistics.permutation import SignFlips
from phasemark.statistics.signed_ranks import HodgesLehmann, SignedRanks


@dataclass(frozen=True, slots=True)
class Spread:
    """One level at one place: mean and SD between participants, and the SD between a participant's reps.

    between_reps is the root of the participants' mean variance between reps; nan where none has two reps.
    """

    mean: float
    sd: float
    between_reps: float


@dataclass(frozen=True, slots=True)
class Detail:
    """All that is told of a comparison beside its difference and interval.

    p is that of the plan's test and decides; p_holm is it after Holm's correction over the family. The others are
    shown as sensitivity. p_equivalent is that of the two one-sided tests, p_equivalent_holm corrected like p. The
    verdict of the primary comparison rests on p and p_equivalent, that of all others on the corrected ones. None
    where there is no pair, and equivalence also where the smallest effect does not apply.
    """

    p: float
    p_holm: float
    family: int
    ranks: SignedRanks | None
    shift: HodgesLehmann | None
    flips: SignFlips | None
    ratio: Ratio | None
    geometric: Ratio | None
    effect: EffectSizes | None
    equivalence: Equivalence | None
    p_equivalent_holm: float
    needed: Needed
    verdict: Verdict
    said: str


@dataclass(frozen=True, slots=True)
class ComparedCell:
    """One comparison a - b: whose values, both levels, the difference with interval and t test, and the detail.

    participants, a and b belong together; left_out have a value on one level only. detail is None in brief.
    """

    place: Place
    primary: bool
    participants: tuple[str, ...]
    left_out: tuple[str, ...]
    a: tuple[float, ...]
    b: tuple[float, ...]
    spread_a: Spread
    spread_b: Spread
    difference: OneSampleT
    detail: Detail | None = None

    @property
    def n(self) -> int:
        """How many participants have both."""
        return len(self.participants)

    @property
    def more_in_a(self) -> int:
        """How many of them have more in a."""
        return sum(a > b for a, b in zip(self.a, self.b, strict=True))

    @property
    def more_in_b(self) -> int:
        """How many of them have more in b."""
        return sum(b > a for a, b in zip(self.a, self.b, strict=True))


@dataclass(frozen=True, slots=True)
class Comparison:
    """A plan carried out: every place of its family that has values, in the unit said.

    planned is False where the plan was formed for the moment and not written down before (exploratory).
    said: sentences about units and cells that are missing; cautions about the study are elsewhere (cautions).
    """

    plan: AnalysisPlan
    unit: str
    cells: tuple[ComparedCell, ...]
    said: tuple[str, ...] = ()
    planned: bool = True

    @property
    def difference_unit(self) -> str:
        """The unit of a difference: percentage points where values are in percent."""
        return "percentage points" if self.unit.startswith("%") else self.unit

    @property
    def primary(self) -> ComparedCell | None:
        """The one primary comparison; None where nothing was measured there."""
        return next((cell for cell in self.cells if cell.primary), None)

    def cell(self, muscle: str, phase: AgainstLoad, third: str = WHOLE, side: Side | None = None) -> ComparedCell:
        """The comparison at a place, of the first side where none is named.

        Raises:
            BadCall: there is none.
        """
        for cell in self.cells:
            at = cell.place
            if (at.muscle, at.phase, at.third) == (muscle, phase, third) and side in (None, at.side):
                return cell
        raise BadCall(f"Nothing is compared at {muscle}, {phase}, {third}.")
