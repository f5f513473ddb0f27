"""All that the tables of a study are made from: its current results and facts, and the reference of each muscle."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from phasemark.model.recording import EmgChannel
from phasemark.model.study import Study, Trial
from phasemark.results.facts import TrialFacts, baseline_of
from phasemark.results.measure import SegmentMotion, TrialResults
from phasemark.results.referencing import Normaliser, Normalisers, normalisers, whose
from phasemark.results.segments import Segment
from phasemark.signal.attempts import Attempt
from phasemark.signal.kinematics import Motion


@dataclass(frozen=True)
class Numbers:
    """A study with the results and facts that are current, by trial id, for one rater's marks."""

    study: Study
    rater: str
    results: Mapping[str, TrialResults]
    facts: Mapping[str, TrialFacts] = field(default_factory=dict)

    @cached_property
    def normalisers(self) -> Normalisers:
        """The reference of every muscle of every participant and session."""
        return normalisers(self.study, self.facts, self.results, self.rater)

    def normaliser(self, trial: Trial, channel: EmgChannel) -> Normaliser | None:
        """The reference that a channel of a trial is stated in; None where the study normalises nothing."""
        return self.normalisers.get(whose(self.study, trial, channel))

    def baseline(self, trial: Trial, channel: EmgChannel) -> Attempt | None:
        """The baseline noise of a channel, None where its session has none."""
        return baseline_of(self.study, self.facts, trial, channel)

    def motion(self, trial: Trial) -> dict[tuple[int, Segment], Motion]:
        """How the movement went in each segment of a trial, by rep and segment."""
        held = self.results.get(trial.id)
        moved: tuple[SegmentMotion, ...] = () if held is None else held.motion
        return {(one.rep, one.segment): one.motion for one in moved}
