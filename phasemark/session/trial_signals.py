"""The signals of a trial in memory: as recorded, filtered, envelopes, movement; and a bounded cache of them."""

from collections import OrderedDict
from collections.abc import Hashable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Lock

from phasemark.model.marks import RAISING
from phasemark.model.recording import EmgChannel, Samples, Treatment
from phasemark.model.settings import Settings
from phasemark.model.study import Trial
from phasemark.phases.motion import motion_between
from phasemark.phases.movement import Movement, filtered_movement
from phasemark.results.further import ChannelSource
from phasemark.results.segments import WHOLE, Segment
from phasemark.signal.conditioning import Conditioned, check_settings, condition
from phasemark.signal.edge_effects import edge_stretches
from phasemark.signal.envelope import envelope
from phasemark.signal.error_blocks import error_blocks
from phasemark.signal.gaps import Pieces
from phasemark.signal.kinematics import Motion
from phasemark.signal.pyramid import Pyramid, build
from phasemark.store.recordings import StoredRecording

CACHE_BYTES = 1_500_000_000
_AT_A_TIME = 2


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
    pyramids of the values as recorded. edges are, of each EMG channel, the stretches of samples whose filtered values
    rest partly on reflections (signal.edge_effects); empty where they were not worked out. made_by are the settings.
    """

    trial: Trial
    raw: tuple[Pyramid, ...]
    traces: tuple[Pyramid, ...]
    conditioned: tuple[Conditioned, ...]
    envelopes: tuple[Pyramid, ...]
    movement: Movement | None
    smooth: Pyramid | None
    edges: tuple[Pieces, ...] = ()
    made_by: Settings | None = None
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


def compute_signals(
    trial: Trial, stored: StoredRecording, settings: Settings, before: TrialSignals | None = None
) -> TrialSignals:
    """Filter a trial's channels, make its envelopes and their pyramids; for a computing thread.

    before are signals of the same recording under other settings, if there are some: what does not differ is kept.

    Raises:
        BadData: a filter does not fit the recording's rate.
    """
    check_settings(settings, trial.emg)
    held = None if before is None or before.trial.recording != trial.recording else before
    with ThreadPoolExecutor(_AT_A_TIME) as pool:  # filters let go of the interpreter
        made = list(pool.map(lambda place: _channel(trial, place, stored, settings, held), range(len(trial.emg))))
    movement, smooth = _movement(trial, stored, settings, held)
    return TrialSignals(
        trial,
        stored.emg_pyramids,
        stored.movement_pyramids,
        tuple(conditioned for conditioned, _ in made),
        tuple(shape for _, shape in made),
        movement,
        smooth,
        tuple(_edges(channel, own, settings) for channel, own in zip(trial.emg, stored.emg_values, strict=True)),
        settings,
    )


def _channel(
    trial: Trial, place: int, stored: StoredRecording, settings: Settings, held: TrialSignals | None
) -> tuple[Conditioned, Pyramid]:
    """A channel filtered, and its envelope."""
    channel, filters = trial.emg[place], settings.filter_for(trial.emg[place].muscle)
    was = None if held is None or held.trial.emg != trial.emg else held.made_by
    if held is None or was is None or was.filter_for(channel.muscle) != filters:
        own = condition(stored.emg_values[place], channel, filters)
        return own, build(envelope(own, settings.envelope))
    own = held.conditioned[place]
    same = was.envelope == settings.envelope
    return own, held.envelopes[place] if same else build(envelope(own, settings.envelope))


def _movement(
    trial: Trial, stored: StoredRecording, settings: Settings, held: TrialSignals | None
) -> tuple[Movement | None, Pyramid | None]:
    """The filtered movement, and the pyramid of its position."""
    if held is not None and held.made_by is not None and held.trial.movement == trial.movement:
        was, now = held.made_by.phases, settings.phases
        if (was.movement_lowpass_hz, was.movement_order) == (now.movement_lowpass_hz, now.movement_order):
            return held.movement, held.smooth
    movement = movement_of(trial, stored.movement_values, settings)
    return movement, None if movement is None else build(movement.position)


def stored_of(signals: TrialSignals) -> StoredRecording:
    """The recording that signals were made from, as it was read."""
    emg, movement = (tuple(own.values for own in part) for part in (signals.raw, signals.traces))
    return StoredRecording(emg, movement, signals.raw, signals.traces)


def _edges(channel: EmgChannel, values: Samples, settings: Settings) -> Pieces:
    """Where a channel's filtered values are unsure; nowhere in one that is not filtered."""
    if channel.treatment is Treatment.RECTIFIED:
        return ()
    return edge_stretches(values, settings.filter_for(channel.muscle), channel.rate)


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

    def forget(self) -> None:
        """Give up all of them."""
        self._held.clear()
