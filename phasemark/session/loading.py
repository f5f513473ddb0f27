"""Signals of the trial in view: from the cache, or read and computed off the caller's thread."""

from collections.abc import Callable

from phasemark.session.session import Session
from phasemark.session.trial_signals import TrialSignals, compute_signals, signals_key
from phasemark.store.recordings import StoredRecording

_SLOT = "signals of the trial in view"


def load_signals(
    session: Session,
    trial_id: str,
    *,
    done: Callable[[TrialSignals], None],
    failed: Callable[[BaseException], None],
) -> None:
    """Get a trial's signals; done is called at once where the cache has them.

    Asking for another trial gives up the one before: only the newest is ever delivered.
    """
    trial, settings, worker = session.study.trial(trial_id), session.study.settings, session.worker
    key = signals_key(trial, settings)
    held = session.cache.get(key)
    if held is not None:
        worker.supersede(_SLOT)
        done(held)
        return

    def compute(stored: StoredRecording) -> None:
        worker.run(
            f"filtering trial {trial_id}",
            lambda _: compute_signals(trial, stored, settings),
            on=worker.compute,
            done=keep,
            failed=failed,
            slot=_SLOT,
        )

    def keep(signals: TrialSignals) -> None:
        session.cache.put(key, signals)
        done(signals)

    worker.run(
        f"reading trial {trial_id}",
        lambda _: session.folder.read_recording(trial.recording),
        on=worker.disk,
        done=compute,
        failed=failed,
        slot=_SLOT,
    )
