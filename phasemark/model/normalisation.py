"""What EMG amplitude is stated in shares of: how a reference is got, and what a person decided about one."""

from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

from phasemark.model.errors import BadCall
from phasemark.model.marks import Decision
from phasemark.model.recording import Side


class Approach(StrEnum):
    """Where a reference comes from, by the names of the published consensus (Besomi et al. 2020, JEK 53:102438)."""

    ISOMETRIC_MVC = "standardised isometric MVC"
    MATCHED_MVC = "matched-task MVC"
    SUBMAXIMAL = "standardised submaximal task"
    TASK_PEAK = "peak of the task"
    TASK_MEAN = "mean of the task"
    NONE = "none"


class ReferenceRule(StrEnum):
    """Which value of the attempts is the reference."""

    HIGHEST = "highest window"
    PLATEAU = "plateau"
    BEST_MEAN = "mean of the best"


@dataclass(frozen=True, slots=True)
class MvicPosition:
    """The muscles that an MVIC position (the exercise name of its trials) is a reference for."""

    position: str
    muscles: tuple[str, ...]

    def __post_init__(self) -> None:
        if not self.position.strip() or not self.muscles or not all(m.strip() for m in self.muscles):
            raise BadCall("An MVIC position needs a name and the muscles that it is a reference for.")


@dataclass(frozen=True, slots=True)
class NormalisationSettings:
    """How references are got.

    window_s is the length of the moving window (s) whose highest value is sought; best the number of attempts
    that are averaged under the rule BEST_MEAN; plateau_s the length of a plateau found by rule; attempts
    whose best two differ by more than the share disagreement are flagged. per_exercise and exercise concern
    the task's own peak or mean: one reference for each exercise (which hides what differs between them), or
    from the trials of one exercise only ('' is all). positions says which MVIC position serves which
    muscles; a position that is not listed serves every muscle.
    """

    approach: Approach = Approach.ISOMETRIC_MVC
    rule: ReferenceRule = ReferenceRule.HIGHEST
    window_s: float = 0.5
    best: int = 3
    plateau_s: float = 1.0
    disagreement: float = 0.10
    per_exercise: bool = False
    exercise: str = ""
    positions: tuple[MvicPosition, ...] = ()

    def __post_init__(self) -> None:
        for name, seconds in (("window_s", self.window_s), ("plateau_s", self.plateau_s)):
            if not (isfinite(seconds) and seconds > 0):
                raise BadCall(f"normalisation.{name} must be above zero seconds, not {seconds}.")
        if self.best < 1:
            raise BadCall(f"normalisation.best is a number of attempts from 1 on, not {self.best}.")
        if not (isfinite(self.disagreement) and self.disagreement > 0):
            raise BadCall(f"normalisation.disagreement must be above zero, not {self.disagreement}.")

    def serves(self, position: str, muscle: str) -> bool:
        """Whether the trials of an MVIC position are a reference for a muscle."""
        listed = [entry for entry in self.positions if entry.position == position]
        return not listed or any(muscle in entry.muscles for entry in listed)


class ReferenceChoice(StrEnum):
    """What a person decided about a reference."""

    ATTEMPT = "this attempt"
    BORROWED = "another session"


@dataclass(frozen=True, slots=True)
class ReferenceDecision:
    """A reference chosen by a person, with a reason: one attempt (a trial), or that of another session."""

    participant: str
    session: str
    muscle: str
    side: Side
    choice: ReferenceChoice
    decision: Decision
    trial: str = ""
    from_session: str = ""

    def __post_init__(self) -> None:
        if not self.decision.reason.strip():
            raise BadCall("A reference that is chosen by hand needs a reason.")
        if bool(self.trial) != (self.choice is ReferenceChoice.ATTEMPT):
            raise BadCall("A chosen attempt names its trial, and nothing else does.")
        if bool(self.from_session) != (self.choice is ReferenceChoice.BORROWED):
            raise BadCall("A borrowed reference names the session that it comes from, and nothing else does.")

    @property
    def key(self) -> tuple[str, str, str, Side]:
        """Participant, session, muscle and side that it is about; a study has at most one decision for each."""
        return self.participant, self.session, self.muscle, self.side
