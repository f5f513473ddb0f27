"""Invented checks of signal quality and references for tests of the pages, without recordings."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from math import nan

from PySide6.QtCore import SignalInstance

from phasemark.model.intervals import AcceptedFinding
from phasemark.model.marks import Decision
from phasemark.model.normalisation import Approach
from phasemark.model.recording import Side
from phasemark.results.referencing import Whose
from phasemark.session.judgement_tables import QualityRow, QualityTable
from phasemark.session.reference_pictures import (
    AttemptPicture,
    PositionsPicture,
    ReferencePicture,
    ReferencesPicture,
)
from phasemark.signal.quality.finding import Check

CHECKS = tuple(check for check in Check if not check.startswith("movement ") or check is Check.ARTEFACT)


def row(trial: str = "T001", channel: int = 0, check: Check = Check.OFFSET, *, flagged: bool = False) -> QualityRow:
    """A check of a muscle; a flagged one has two places."""
    places = ((1.0, 1.5), (7.0, 7.25)) if flagged else ()
    muscle = f"muscle {channel}"
    name = f"P{trial[1:]} squat 1"
    sentence = f"What {check} found in {muscle}."
    return QualityRow(
        (trial, channel, check, -1), name, muscle, check, 2.0 if flagged else 0.5, "times", 1.0, flagged, sentence,
        places, None, None,
    )  # fmt: skip


def accepted(of: QualityRow, reason: str = "looked at") -> QualityRow:
    """The same row, accepted by R2."""
    decision = Decision("R2", "2026-01-01T00:00:00Z", reason)
    return replace(of, accepted=AcceptedFinding(of.check, of.muscle, Side.NONE, decision))


def table(trials: int, channels: int, flagged_every: int = 50) -> QualityTable:
    """A study's checks, 15 of each channel, every so manieth flagged."""
    rows, count = [], 0
    for trial in range(trials):
        for channel in range(channels):
            for check in CHECKS[:15]:
                count += 1
                rows.append(row(f"T{trial + 1:03d}", channel, check, flagged=count % flagged_every == 0))
    rows.sort(key=lambda one: 0 if one.flagged else 1)
    return QualityTable(tuple(rows))


def attempt(number: int, rms: float, **more: object) -> AttemptPicture:
    """An attempt at the reference of a muscle in trial T00n."""
    plain = AttemptPicture(
        f"T{number:03d}", 0, number, "knee extension", "1", rms, 0.8 * rms, 0.05, 2.0, 2.5,
        at_edge=False, used=False, mean_used=False, faults=(), by_hand=None, choosable=True,
    )  # fmt: skip
    return replace(plain, **more)  # type: ignore[arg-type]


def reference(muscle: str, *attempts: AttemptPicture, **more: object) -> ReferencePicture:
    """The reference of a muscle of P01, session 1, made from the attempts that are used."""
    used = [at.rms for at in attempts if at.used]
    rms = used[0] if used else nan
    plain = ReferencePicture(
        Whose("P01", "1", muscle, Side.NONE), rms, 0.8 * rms, 0.05, 0.05, attempts, (), None, nan, nan, None, ()
    )
    return replace(plain, **more)  # type: ignore[arg-type]


def picture(*rows: ReferencePicture, **more: object) -> ReferencesPicture:
    """References by MVC, with two positions."""
    positions = PositionsPicture(("extension", "flexion"), ("quad", "ham"), ((True, False), (True, True)))
    plain = ReferencesPicture(Approach.ISOMETRIC_MVC, "the highest RMS", rows, positions, (), trials=3)
    return replace(plain, **more)  # type: ignore[arg-type]


@contextmanager
def told(signal: SignalInstance) -> Iterator[list[tuple[object, ...]]]:
    """What a signal tells meanwhile, in order."""
    heard: list[tuple[object, ...]] = []

    def hear(*parts: object) -> None:
        heard.append(parts)

    signal.connect(hear)
    yield heard
    signal.disconnect(hear)
