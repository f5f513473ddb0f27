"""The signals of a trial in memory: as recorded, filtered, envelopes, movement; and a bounded cache of them."""

from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import dataclass, field
from threading import Lock

from phasemark.model.marks import RAISING
from phasemark.model.recording import Samples
from phasemark.model.settings import Settings
from phasemark.model.study import Trial
from phasemark.phases.motion import motion_between
from phasemark.phases.movement import Movement, filtered_movement
from phasemark.results.further import ChannelSource
from phasemark.results.measure import condition_trial
from phasemark.results.segments import WHOLE, Segment
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.envelope import envelope
from phasemark.signal.error_blocks import error_blocks
from phasemark.signal.kinematics import Motion
from phasemark.signal.pyramid import Pyramid, build
from phasemark.store.recordings import StoredRecording

CACHE_BYTES = 1_500_000_000


@dataclass(slots=True, eq=False)
class _Later:
    """What is made of a trial's signals only when it is first asked for, by whichever thread asks."""

    lock: Lock = field(default_factory=Lock)
    sources: tuple[ChannelSource, ...] | None = None
    filtered: tuple[Pyramid, ...] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class TrialSignals:
    """All that is drawn and measured of one trial, computed under one set of settings.

    One conditioned channel, envelope and pyramid for each EMG channel; movement is the trace that defines the
    phases (None where the trial has none), smooth the pyramid of its filtered position. raw and traces are the
    pyramids of the values as recorded.
    """

    trial: Trial
    raw: tuple[Pyramid, ...]
    traces: tuple[Pyramid, ...]
    conditioned: tuple[Conditioned, ...]
    envelopes: tuple[Pyramid, ...]
    movement: Movement | None
    smooth: Pyramid | None
    _later: _Later = field(default_factory=_Later, repr=False)

    @property
    def size(self) -> int:
        """Bytes held, about: values, filtered values, envelopes, and spectra of the filtered values."""
        return sum(4 * pyramid.values.nbytes for pyramid in (*self.raw, *self.traces))

    def sources(self) -> tuple[ChannelSource, ...]:
        """What the further values of each channel are computed from, made once; for a computing thread."""
        later = self._later
        with later.lock:
            if later.sources is None:
                pairs = zip(self.conditioned, self.envelopes, strict=True)
                later.sources = tuple(ChannelSource(own, error_blocks(own), shape.values) for own, shape in pairs)
            return later.sources

    def filtered(self) -> tuple[Pyramid, ...]:
        """The pyramid of each channel's filtered values (mV), made once; for a computing thread."""
        later = self._later
        with later.lock:
            if later.filtered is None:
                later.filtered = tuple(build(channel.values) for channel in self.conditioned)
            return later.filtered


def movement_of(trial: Trial, movement_values: tuple[Samples, ...], settings: Settings) -> Movement | None:
    """The filtered movement that defines a trial's phases: that of its first trace."""
    if not trial.movement:
        return None
    return filtered_movement(movement_values[0], trial.movement[0], trial.clock, trial.length, settings.phases)


def segment_motion(movement: Movement, segment: Segment) -> Motion:
    """How the movement went in a segment; a whole raising phase may have a sticking region as well."""
    raising = (segment.phase, segment.third) == (RAISING, WHOLE)
    return motion_between(movement, segment.begin, segment.end, raising=raising)


def compute_signals(trial: Trial, stored: StoredRecording, settings: Settings) -> TrialSignals:
    """Filter a trial's channels, make its envelopes and their pyramids; for a computing thread.

    Raises:
        BadData: a filter does not fit the recording's rate.
    """
    conditioned = condition_trial(trial, stored.emg_values, settings)
    movement = movement_of(trial, stored.movement_values, settings)
    return TrialSignals(
        trial,
        stored.emg_pyramids,
        stored.movement_pyramids,
        conditioned,
        tuple(build(envelope(channel, settings.envelope)) for channel in conditioned),
        movement,
        None if movement is None else build(movement.position),
    )


def signals_key(trial: Trial, settings: Settings) -> Hashable:
    """What a trial's signals depend on; signals under another key are not those asked for."""
    filters = tuple(settings.filter_for(channel.muscle) for channel in trial.emg)
    phases = settings.phases
    movement = (phases.movement_lowpass_hz, phases.movement_order)
    return (trial.recording.sha256, trial.emg, trial.movement, filters, settings.envelope, movement)


class SignalsCache:
    """Signals lately used, the oldest given up when there are more than so many bytes."""

    def __init__(self, limit: int = CACHE_BYTES) -> None:
        self._limit = limit
        self._held: OrderedDict[Hashable, TrialSignals] = OrderedDict()

    def get(self, key: Hashable) -> TrialSignals | None:
        """The signals under a key, if they are still held."""
        if key in self._held:
            self._held.move_to_end(key)
        return self._held.get(key)

    def put(self, key: Hashable, signals: TrialSignals) -> None:
        """Hold signals, and give up the oldest others until they fit."""
        self._held[key] = signals
        self._held.move_to_end(key)
        while len(self._held) > 1 and sum(s.size for s in self._held.values()) > self._limit:
            self._held.popitem(last=False)
