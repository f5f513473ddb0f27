"""The analysis plan: what will be tested, written down before results are shown."""

from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

from phasemark.model.errors import BadCall
from phasemark.model.marks import Decision

EXERCISE = "exercise"


class Outcome(StrEnum):
    """The value of a segment that is compared."""

    RMS = "RMS"
    MEAN_AMPLITUDE = "mean amplitude"


class PrimaryTest(StrEnum):
    """The one test whose p value decides."""

    PAIRED_T = "paired t"
    WILCOXON = "Wilcoxon signed rank"
    SIGN_FLIP = "sign-flip permutation"


class AgainstLoad(StrEnum):
    """A phase by its direction against the load, as two exercises are compared; or the whole rep."""

    AGAINST = "against the load"
    WITH = "with the load"
    REP = "rep"


@dataclass(frozen=True, slots=True)
class AnalysisPlan:
    """What is compared (two levels of a factor, 'exercise' or one the study names), in what, and what decides.

    The primary comparison is that of one muscle, phase and third ('whole' for a whole phase). The family that
    Holm's correction is over holds every combination of muscles, phases and thirds listed. smallest_effect is the
    smallest difference that matters, in the unit of the outcome (percentage points of the reference, or mV).
    """

    factor: str
    a: str
    b: str
    outcome: Outcome
    muscles: tuple[str, ...]
    phases: tuple[AgainstLoad, ...]
    thirds: tuple[str, ...]
    primary_muscle: str
    primary_phase: AgainstLoad
    primary_third: str
    smallest_effect: float
    decision: Decision
    test: PrimaryTest = PrimaryTest.PAIRED_T
    confidence: float = 0.95
    exclusion_rules: str = ""

    def __post_init__(self) -> None:
        if not self.a or not self.b or self.a == self.b:
            raise BadCall("An analysis plan compares two different levels, such as two exercises.")
        for what, chosen, among in (
            ("muscle", self.primary_muscle, self.muscles),
            ("phase", self.primary_phase, self.phases),
            ("third", self.primary_third, self.thirds),
        ):
            if chosen not in among:
                also = "; muscles are named without their side" if what == "muscle" else ""
                raise BadCall(
                    f"The primary comparison's {what} {str(chosen)!r} is not among those of the plan "
                    f"({', '.join(map(str, among)) or 'none'}){also}."
                )
        if not (isfinite(self.smallest_effect) and self.smallest_effect > 0):
            raise BadCall(f"The smallest effect that matters must be above zero, not {self.smallest_effect}.")
        if not 0.5 < self.confidence < 1:
            raise BadCall(f"The confidence of intervals is a share between 0.5 and 1, not {self.confidence}.")
