"""The open study: its value, its history, its saving. Windows and commands draw it and send it edits.

A session belongs to the thread that made it. State is one frozen study; every change of it passes through
`edit`, `undo` or `redo`, each of which writes to the ledger and tells the listeners once: changed(old, new).
"""

import threading
from collections.abc import Callable
from pathlib import Path

from phasemark.model.changes import differences
from phasemark.model.errors import BadCall, Unavailable
from phasemark.model.marks import Decision, Marks
from phasemark.model.study import Study, Trial
from phasemark.model.study_edits import with_trial
from phasemark.results.facts import TrialFacts, noise_rms
from phasemark.results.measure import TrialResults
from phasemark.results.numbers import Numbers
from phasemark.session.blinding import BLIND, Cover
from phasemark.session.current_numbers import current_facts, current_numbers, current_result
from phasemark.session.history import Entry, History
from phasemark.session.kept import Facts, Kept, Results
from phasemark.session.kept_keys import KeptKeys
from phasemark.session.saving import Saving
from phasemark.session.trial_signals import SignalsCache
from phasemark.store.folder import StudyFolder
from phasemark.store.ledger_lines import Action, Gesture
from phasemark.store.places import utc_now
from phasemark.worker import Worker, do_apart

Listener = Callable[[Study, Study], None]


class Session:
    """One open study. said collects sentences for the user that no call is there to return."""

    def __init__(self, folder: StudyFolder, study: Study, kept: Kept, worker: Worker, *, rater: str = "") -> None:
        self._thread = threading.get_ident()
        self.folder = folder
        self.worker = worker
        self.cache = SignalsCache()
        self.rater = rater or study.raters[0]
        self._study = study
        self._results, self._facts = dict(kept.results), dict(kept.facts)
        self._keys = KeptKeys()
        self.history = History()
        self.listeners: list[Listener] = []
        self.told: list[Callable[[str], None]] = []
        self.cover: Cover | None = None
        self._saving = Saving(folder, worker, self._snapshot, self._tell)

    @property
    def study(self) -> Study:
        """The study as it is now."""
        return self._study

    @property
    def path(self) -> Path:
        """The study's folder."""
        return self.folder.path

    @property
    def read_only(self) -> str:
        """Why nothing can be changed; empty where it can."""
        return self.folder.read_only

    @property
    def blind(self) -> bool:
        """Whether numbers, exercise and participant are hidden, which decisions and gestures then say (blinding)."""
        return self.cover is not None

    @property
    def unsaved(self) -> int:
        """Edits that are on screen but not yet synced to the disk."""
        return self._saving.unsynced

    @property
    def results(self) -> Results:
        """All results that are held, stale ones among them."""
        return self._results

    def _assert_own_thread(self) -> None:
        assert threading.get_ident() == self._thread, "a session is used from its own thread only"

    def _tell(self, sentence: str) -> None:
        for listener in self.told:
            listener(sentence)

    def _snapshot(self) -> tuple[Study, Kept]:
        return self._study, Kept(dict(self._results), dict(self._facts))

    # edits

    def edit(self, text: str, after: Study, trial: str = "") -> bool:
        """Make an edit: the study after it, what was done in words, the trial it belongs to.

        Returns whether anything changed at all.

        Raises:
            Unavailable: the study is read-only, and why.
        """
        self._assert_own_thread()
        before = self._study
        changes = differences(before, after)
        if not changes:
            return False
        self._refuse_if_read_only()
        text = self._said(text)
        gesture = Gesture(text, changes, self.rater)
        self.history.push(Entry(text, gesture.id, trial, before, after))
        self._become(after, gesture)
        return True

    def _said(self, text: str) -> str:
        """The words of a gesture that is made now, which say where it is made blind."""
        return text.removesuffix(BLIND) + (BLIND if self.blind else "")

    def _refuse_if_read_only(self) -> None:
        if self.read_only:
            raise Unavailable(self.read_only)

    def _become(self, after: Study, gesture: Gesture) -> None:
        before, self._study = self._study, after
        self._saving.record(gesture)
        for listener in tuple(self.listeners):
            listener(before, after)

    def edit_marks(self, text: str, trial_id: str, edit: Callable[[Marks], Marks]) -> bool:
        """Pass this rater's marks of a trial through an edit."""
        trial = self._study.trial(trial_id)
        before = trial.marks_of(self.rater)
        after = edit(before)
        return after != before and self.edit(text, with_trial(self._study, trial.with_marks(after)), trial_id)

    def undo(self) -> Entry | None:
        """Take the last edit of this sitting back; its entry says where, None if there is none."""
        self._assert_own_thread()
        if self.history.undoable is None:
            return None
        self._refuse_if_read_only()
        entry = self.history.undo()
        self._step(entry, entry.before, Action.UNDO)
        return entry

    def redo(self) -> Entry | None:
        """Make the edit that was undone last again; its entry says where, None if there is none."""
        self._assert_own_thread()
        if self.history.redoable is None:
            return None
        self._refuse_if_read_only()
        entry = self.history.redo()
        self._step(entry, entry.after, Action.REDO)
        return entry

    def _step(self, entry: Entry, after: Study, action: Action) -> None:
        changes = differences(self._study, after)
        self._become(after, Gesture(self._said(entry.text), changes, self.rater, action, of=entry.gesture))

    def decision(self, reason: str = "") -> Decision:
        """A decision of this rater, made now, blind or not."""
        return Decision(self.rater, utc_now(), reason, blind=self.blind)

    # results

    def result_of(self, trial: Trial) -> TrialResults | None:
        """A trial's results for this rater's marks, unless they are stale or absent."""
        return current_result(self._study, self.rater, self._results, trial, self._keys)

    def keep_results(self, results: list[TrialResults]) -> None:
        """Hold results and have them saved; they are not an edit."""
        self._assert_own_thread()
        self._results.update({(found.trial, found.rater): found for found in results})
        self._saving.save_soon()

    def note(self, text: str) -> None:
        """Write down in the ledger what was done that changes nothing of the study, where it can be written."""
        self._assert_own_thread()
        if not self.read_only:
            self._saving.record(Gesture(self._said(text), (), self.rater, Action.EVENT))

    @property
    def facts(self) -> Facts:
        """All facts that are held, by trial id, stale ones among them."""
        return self._facts

    def noise_of(self, trial: Trial) -> tuple[float | None, ...]:
        """The baseline RMS (mV) of each channel of a trial, None where its session has none that is known."""
        return noise_rms(self._study, self._facts, trial)

    def facts_of(self, trial: Trial) -> TrialFacts | None:
        """What is known of a trial's signals, unless it is stale or absent."""
        return current_facts(self._study, self._facts, trial, self._keys)

    def keep_facts(self, facts: list[TrialFacts]) -> None:
        """Hold facts and have them saved; they are not an edit."""
        self._assert_own_thread()
        self._facts.update({found.trial: found for found in facts})
        self._saving.save_soon()

    def numbers(self) -> Numbers:
        """What is current of results and facts, for tables and comparisons."""
        return current_numbers(self._study, self.rater, self._results, self._facts, self._study.trials, keys=self._keys)

    # saving

    def save(self) -> None:
        """Write the project file now, and wait until it is on the disk."""
        self._assert_own_thread()
        self._saving.save_and_wait()

    def close(self) -> None:
        """Stop what is under way, wait for the last edit to be synced, write the project file, let go of the study.

        Raises:
            Unavailable: something could not be written; the study is let go of all the same.
        """
        self._ending()()

    def close_apart(self, ended: Callable[[BaseException | None], None]) -> None:
        """Close without waiting: ended is told on this thread, later, with what close would have raised or None.

        The session takes no edit from now on.
        """
        do_apart(self.worker.deliver, self._ending(), ended)

    def _let_go(self) -> None:
        """Drop all that is large; the session itself may live on in what still refers to it."""
        self.cache, self._results, self._facts, self.history = SignalsCache(), {}, {}, History()

    def _ending(self) -> Callable[[], None]:
        """Stop what is under way; what is given does the rest of closing, on whatever thread."""
        self._assert_own_thread()
        self.worker.stop()
        save = self._saving.ending()

        def end() -> None:
            try:
                save()
            finally:
                self.worker.close()
                self.folder.close()
                self._let_go()

        return end


def known_trial(study: Study, text: str) -> Trial:
    """The trial that a person named by its id, in any letter case.

    Raises:
        BadCall: there is none; the sentence lists some.
    """
    for trial in study.trials:
        if trial.id.casefold() == text.casefold():
            return trial
    known = ", ".join(trial.id for trial in study.trials[:8]) or "none yet"
    raise BadCall(
        f"There is no trial {text!r} in this study; its trials are {known}{' ...' if len(study.trials) > 8 else ''}."
    )
