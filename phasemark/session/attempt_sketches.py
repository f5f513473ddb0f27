"""Envelopes of attempts at a reference in few columns for small drawings, made off the caller's thread."""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from phasemark.model.errors import PhasemarkError
from phasemark.model.recording import Samples
from phasemark.model.settings import Settings
from phasemark.model.study import Trial
from phasemark.session.reading import parted, read_or_problem, where_read
from phasemark.session.session import Session
from phasemark.session.trial_signals import signals_key
from phasemark.signal.conditioning import condition
from phasemark.signal.envelope import envelope
from phasemark.signal.pyramid import build, columns
from phasemark.store.recordings import StoredRecording
from phasemark.worker import Job

COLUMNS = 600
_MOST_HELD = 400


@dataclass(frozen=True, slots=True, eq=False)
class Sketch:
    """The highest envelope (mV, NaN: none) in each of COLUMNS equal stretches of a channel of duration_s seconds."""

    highest: Samples
    duration_s: float


Wanted = tuple[str, int]
"""A trial's id and the place of a channel in it."""


class AttemptSketches:
    """The sketches of one session's attempts, held while recording and settings stay what they are."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._held: dict[Hashable, Sketch] = {}
        self._job: Job[list[tuple[Wanted, Sketch] | PhasemarkError]] | None = None

    def held(self, wanted: Wanted) -> Sketch | None:
        """The sketch of a channel, None while it is not there."""
        trial = self._trial(wanted)
        return None if trial is None else self._held.get(self._key(trial, wanted[1]))

    def _trial(self, wanted: Wanted) -> Trial | None:
        return next((trial for trial in self._session.study.trials if trial.id == wanted[0]), None)

    def _key(self, trial: Trial, channel: int) -> Hashable:
        return signals_key(trial, self._session.study.settings), channel

    def fetch(self, wanted: Sequence[Wanted], come: Callable[[], None]) -> None:
        """Make the sketches that are not held; come is called when they are. What was asked for before is given up.

        A recording that cannot be read has no sketch; the desk says why when its trial is brought into view.
        """
        if self._job is not None:
            self._job.cancel()
        missing = [w for w in dict.fromkeys(wanted) if self.held(w) is None and self._trial(w) is not None]
        if not missing:
            return
        session, settings = self._session, self._session.study.settings
        read = read_or_problem(session.folder)

        def keep(found: list[tuple[Wanted, Sketch] | PhasemarkError]) -> None:
            if len(self._held) > _MOST_HELD:
                self._held.clear()
            for own, sketch in parted(found)[0]:
                trial = self._trial(own)
                if trial is not None:
                    self._held[self._key(trial, own[1])] = sketch
            come()

        self._job = session.worker.run_each(
            "drawing attempts",
            [(session.study.trial(trial_id), channel) for trial_id, channel in missing],
            lambda item: read(item[0]),
            lambda item, stored: where_read(lambda trial, there: _sketched(trial, item[1], there, settings))(
                item[0], stored
            ),
            done=keep,
        )


def _sketched(trial: Trial, place: int, stored: StoredRecording, settings: Settings) -> tuple[Wanted, Sketch]:
    channel = trial.emg[place]
    conditioned = condition(stored.emg_values[place], channel, settings.filter_for(channel.muscle))
    values = envelope(conditioned, settings.envelope)
    highest = columns(build(values), 0, len(values), min(COLUMNS, max(len(values), 1)))[1]
    return (trial.id, place), Sketch(np.asarray(highest), float(len(values) / channel.rate))
