"""What one recording gives to all variants at once: it is read once, and filtered once for each set of filters."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from phasemark.model.marks import BURST, Marks
from phasemark.model.normalisation import Approach
from phasemark.model.recording import Samples
from phasemark.model.settings import Settings
from phasemark.model.study import Trial
from phasemark.results.comparison.cells import CellKey
from phasemark.results.comparison.levels import paired_phase
from phasemark.results.facts import ATTEMPTS_AT, TrialFacts, facts_under, holds_baseline
from phasemark.results.further import only_peak
from phasemark.results.holds import is_hold, measure_hold
from phasemark.results.measure import TrialResults, Value, measure_segment
from phasemark.results.robustness.frame import Frame
from phasemark.results.robustness.moved_cells import moved_cells
from phasemark.results.robustness.variants import Variant
from phasemark.results.segments import REP, WHOLE, Segment, segments
from phasemark.signal.conditioning import Conditioned, condition
from phasemark.signal.envelope import envelope


@dataclass(frozen=True, slots=True, eq=False)
class TrialValues:
    """Of one trial: its cells under each row of moved boundaries, and what differs from the planned values by variant.

    moved has arrays of shape (rows,), the mean over the counted reps of the trial, nan where missing.
    """

    trial: str
    moved: Mapping[CellKey, NDArray[np.float64]] = field(default_factory=dict)
    results: Mapping[str, TrialResults] = field(default_factory=dict)
    facts: Mapping[str, TrialFacts] = field(default_factory=dict)


def needs_signals(frame: Frame, trial: Trial) -> bool:
    """Whether any variant needs a trial's recording."""
    if not any(channel.muscle in frame.plan.muscles for channel in trial.emg):
        return False
    if frame.moves and trial.id in frame.counted:
        return True
    return any(
        _measured_anew(frame, trial, variant, has_marks=bool(variant.marks)) or _facts_anew(frame, trial, variant)
        for variant in frame.variants.all
    )


def _refiltered(frame: Frame, trial: Trial, variant: Variant) -> bool:
    planned = frame.numbers.study.settings
    return any(
        planned.filter_for(channel.muscle) != variant.settings.filter_for(channel.muscle)
        for channel in trial.emg
        if channel.muscle in frame.plan.muscles
    )


def _measured_anew(frame: Frame, trial: Trial, variant: Variant, *, has_marks: bool) -> bool:
    return trial.id in frame.numbers.results and (has_marks or _refiltered(frame, trial, variant))


def _facts_anew(frame: Frame, trial: Trial, variant: Variant) -> bool:
    if trial.id not in frame.numbers.facts or not (trial.kind in ATTEMPTS_AT or holds_baseline(trial)):
        return False
    was, now = frame.numbers.study.settings.normalisation, variant.settings.normalisation
    other_window = (was.window_s, was.plateau_s) != (now.window_s, now.plateau_s)
    return _refiltered(frame, trial, variant) or (other_window and trial.kind in ATTEMPTS_AT)


def _tells_a_reference(trial: Trial, place: int, settings: Settings) -> bool:
    """Whether a channel of an MVIC, reference or quiet trial is looked at for a reference or for the baseline."""
    serves = settings.normalisation.serves(trial.exercise, trial.emg[place].muscle)
    return serves or holds_baseline(trial)


class _Signals:
    """The channels of a trial, filtered when they are first asked for under some filters."""

    def __init__(self, trial: Trial, emg_values: Sequence[Samples]) -> None:
        self._trial, self._values = trial, emg_values
        self._held: dict[Hashable, Conditioned] = {}
        self._envelopes: dict[Hashable, Samples] = {}

    def channel(self, place: int, settings: Settings) -> Conditioned:
        channel = self._trial.emg[place]
        key = (place, settings.filter_for(channel.muscle))
        if key not in self._held:
            self._held[key] = condition(self._values[place], channel, settings.filter_for(channel.muscle))
        return self._held[key]

    def envelope(self, place: int, settings: Settings) -> Samples:
        key = (place, settings.filter_for(self._trial.emg[place].muscle), settings.envelope)
        if key not in self._envelopes:
            self._envelopes[key] = envelope(self.channel(place, settings), settings.envelope)
        return self._envelopes[key]


def trial_values(
    frame: Frame, trial: Trial, emg_values: Sequence[Samples], marks: Mapping[str, Marks] | None = None
) -> TrialValues:
    """All that a trial gives to the variants, from the stored values of its EMG channels; for a computing thread.

    marks are the trial's other marks by their key (OtherMarks), under the rater's name that the numbers are of.
    """
    signals, others = _Signals(trial, emg_values), marks or {}
    results: dict[str, TrialResults] = {}
    facts: dict[str, TrialFacts] = {}
    places = [place for place, channel in enumerate(trial.emg) if channel.muscle in frame.plan.muscles]
    own = trial.marks_of(frame.numbers.rater)
    for variant in frame.variants.all:
        if _measured_anew(frame, trial, variant, has_marks=variant.marks in others):
            results[variant.name] = _results(frame, trial, others.get(variant.marks, own), signals, variant.settings)
        if _facts_anew(frame, trial, variant):
            asked = [place for place in places if _tells_a_reference(trial, place, variant.settings)]
            channels = {place: signals.channel(place, variant.settings) for place in asked}
            facts[variant.name] = facts_under(frame.numbers.facts[trial.id], trial, channels, variant.settings)
    planned = frame.numbers.study.settings
    cells = moved_cells(frame, trial, lambda place: signals.channel(place, planned)) if frame.moves else {}
    return TrialValues(trial.id, cells, results, facts)


def _results(frame: Frame, trial: Trial, marks: Marks, signals: _Signals, settings: Settings) -> TrialResults:
    study, plan = frame.numbers.study, frame.plan
    if is_hold(study, trial):
        every = [signals.channel(place, settings) for place in range(len(trial.emg))]
        return measure_hold(trial, marks, every, settings)
    places = [place for place, channel in enumerate(trial.emg) if channel.muscle in plan.muscles]
    values: list[Value] = []
    peaks = settings.normalisation.approach is Approach.TASK_PEAK
    conditioned = [signals.channel(place, settings) for place in places]
    for rep in marks.reps:
        for segment in segments(rep, marks.thirds_rule, pause_in_rep=settings.pause_in_rep):
            if not _is_used(frame, trial, segment):
                continue
            for place, amplitude in zip(places, measure_segment(trial, segment, conditioned), strict=True):
                further = None
                if peaks and segment.phase in (REP, BURST):
                    levels = signals.envelope(place, settings)
                    further = only_peak(levels, segment, trial.clock, trial.emg[place].rate)
                values.append(Value(rep.id, place, segment, amplitude, further))
    return TrialResults(trial.id, marks.rater, "", tuple(values))


def _is_used(frame: Frame, trial: Trial, segment: Segment) -> bool:
    """Whether a segment is compared, or may make a reference of the task's own."""
    if segment.phase in (REP, BURST) and segment.third == WHOLE:
        return True
    phase = paired_phase(frame.numbers.study, trial, segment.phase)
    return phase in frame.plan.phases and segment.third in frame.plan.thirds
