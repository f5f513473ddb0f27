"""Signals of the trial in view: from the cache, or read and computed off the caller's thread."""

from collections.abc import Callable

from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals, compute_signals, signals_key, stored_of
from phasemark.store.recordings import StoredRecording

_SLOT = "signals of the trial in view"


def load_signals(
    session: Session,
    trial_id: str,
    *,
    done: Callable[[TrialSignals], None],
    failed: Callable[[BaseException], None],
    before: TrialSignals | None = None,
    filtered: bool = False,
) -> None:
    """Get a trial's signals; done is called at once where the cache has them.

    before are signals that are at hand: of the same recording they spare reading it, and what does not differ is kept.
    filtered has the filtered signals ready to be drawn as well.

    Asking for another trial gives up the one before: only the newest is ever delivered.
    """
    trial, settings, worker = session.study.trial(trial_id), session.study.settings, session.worker
    key = signals_key(trial, settings)
    held = session.cache.get(key)
    if held is not None and not filtered:
        worker.supersede(_SLOT)
        done(held)
        return
    at_hand = before if before is not None and before.trial.recording == trial.recording else None

    def made(stored: StoredRecording) -> TrialSignals:
        signals = compute_signals(trial, stored, settings, at_hand) if held is None else held
        if filtered:
            signals.filtered()
        return signals

    def compute(stored: StoredRecording) -> None:
        worker.run(
            f"filtering trial {trial_id}",
            lambda _: made(stored),
            on=worker.compute,
            done=keep,
            failed=failed,
            slot=_SLOT,
        )

    def keep(signals: TrialSignals) -> None:
        session.cache.put(key, signals)
        done(signals)

    ready = held or at_hand
    if ready is not None:
        compute(stored_of(ready))
        return
    worker.run(
        f"reading trial {trial_id}",
        lambda _: session.folder.read_recording(trial.recording),
        on=worker.disk,
        done=compute,
        failed=failed,
        slot=_SLOT,
    )
