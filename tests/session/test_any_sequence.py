"""Any sequence of edits and undos, beside a plain list, reloaded and killed at every step."""

import shutil
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from small_study import Open, killed, reopened

from phasemark.model import mark_edits
from phasemark.model.changes import assemble, parts
from phasemark.model.mark_edits import Address
from phasemark.model.marks import ChannelExclusion, Marks, MarksError, Place
from phasemark.model.recording import Side
from phasemark.model.settings_text import with_setting
from phasemark.model.study import Study
from phasemark.model.study_edits import edit_marks, remove_trial, with_rater, with_trial
from phasemark.session import rep_edits
from phasemark.session.boundary_move import keep_move
from phasemark.session.marking import mark_one

pytestmark = pytest.mark.slow  # kept out of the fast loop

TRIALS = st.sampled_from(["T001", "T002"])
CHANGES = st.sampled_from(
    [
        ("filter.lowpass_hz", "200"),
        ("filter.lowpass_hz", "off"),
        ("counted", "all but first and last"),
        ("counted", "1, 3"),
        ("filter[rectus femoris].highpass_hz", "30"),
        ("first_phase[squat]", "lowering"),
        ("pause_in_rep", "no"),
    ]
)


class Sequence(RuleBasedStateMachine):
    """A session beside a list of studies and a place in it; the list is what undo and redo mean."""

    template: Path

    @initialize()
    def begin(self) -> None:
        self.scratch = Path(tempfile.mkdtemp())
        self.copies = 0
        self.folder = self.scratch / "study"
        shutil.copytree(self.template, self.folder)
        self.at: Open = reopened(self.folder)
        self.states: list[Study] = [self.at.study]
        self.place = 0
        self.sitting_began = 0

    def teardown(self) -> None:
        if hasattr(self, "at"):
            self.at.session.close()
            shutil.rmtree(self.scratch)

    def _expect(self, after: Study) -> None:
        """What a plain list does with an edit: what was undone is gone, the new one is last."""
        if after != self.states[self.place]:
            self.states[self.place + 1 :] = [after]
            self.place += 1

    def _edit(self, after: Study) -> None:
        before = self.at.study
        assert self.at.session.edit("an edit", after) == (after != before)
        self._expect(after)

    def _edit_marks(self, trial: str, edit: "object") -> None:
        if trial in {t.id for t in self.at.study.trials}:
            after = edit_marks(self.at.study, trial, "R1", edit)  # type: ignore[arg-type]
            self.at.session.edit_marks("an edit of marks", trial, edit)  # type: ignore[arg-type]
            self._expect(after)

    @rule(trial=TRIALS, which=st.integers(0, 10**6), to=st.integers(-500, 12_000))
    def move(self, trial: str, which: int, to: int) -> None:
        def edit(marks: Marks) -> Marks:
            places = mark_edits.addresses(marks)
            return mark_edits.move_boundary(marks, places[which % len(places)], to) if places else marks

        self._edit_marks(trial, edit)

    @rule(trial=TRIALS, which=st.integers(0, 10**6), what=st.sampled_from(["exclude", "check", "delete", "channel"]))
    def decide(self, trial: str, which: int, what: str) -> None:
        decision = self.at.session.decision("because")

        def edit(marks: Marks) -> Marks:
            if not marks.reps:
                return marks
            rep = marks.reps[which % len(marks.reps)]
            if what == "channel":
                gone = ChannelExclusion("rectus femoris", Side.NONE, decision)
                return mark_edits.with_rep(marks, replace(rep, excluded_channels=(gone,)))
            if what == "delete":
                return mark_edits.delete_rep(marks, rep.id)
            change = mark_edits.exclude_rep if what == "exclude" else mark_edits.check_rep
            return change(marks, rep.id, decision)

        self._edit_marks(trial, edit)

    @rule(
        trial=TRIALS,
        which=st.integers(0, 10**6),
        sample=st.integers(-500, 23_000),
        length=st.integers(0, 9_000),
        what=st.sampled_from(["draw", "delete", "split", "merge", "complete", "accept", "take back", "all", "part"]),
    )
    def edit_rep(self, trial: str, which: int, sample: int, length: int, what: str) -> None:
        """What the window does with whole reps: one edit each, or a sentence and nothing."""
        if trial not in {t.id for t in self.at.study.trials}:
            return
        session, signals, before = self.at.session, self.at.signals(trial), self.at.study
        reps = before.trial(trial).marks_of("R1").reps
        if what != "draw" and not reps:
            return
        rep = reps[which % len(reps)].id if reps else 0
        edits: dict[str, Callable[[], object]] = {
            "draw": lambda: rep_edits.add_rep(session, signals, sample, sample + length),
            "delete": lambda: rep_edits.delete_rep(session, signals, rep),
            "split": lambda: rep_edits.split_rep(session, signals, rep, sample),
            "merge": lambda: rep_edits.merge_with_next(session, signals, rep),
            "complete": lambda: rep_edits.mark_complete(session, signals, rep, length % 2 == 0),
            "accept": lambda: rep_edits.accept_rep(session, trial, rep),
            "take back": lambda: rep_edits.take_back_acceptance(session, trial, rep),
            "all": lambda: rep_edits.accept_trial(session, trial),
            "part": lambda: keep_move(session, Address(rep, 0, Place.END), sample, signals, alone=True),
        }
        try:
            edits[what]()
        except MarksError:
            assert session.study is before
        after = session.study
        assert {t.id for t in after.trials if t != before.trial(t.id)} <= {trial}
        self._expect(after)

    @rule(trial=TRIALS)
    def mark_again(self, trial: str) -> None:
        if trial in {t.id for t in self.at.study.trials}:
            touched = [rep for rep in self.at.study.trial(trial).marks_of("R1").reps if rep.touched]
            self.at.wait(lambda **back: mark_one(self.at.session, trial, **back))
            marks = self.at.study.trial(trial).marks_of("R1")
            assert [(r.id, r.begin, r.end) for r in touched] == [
                (r.id, r.begin, r.end) for r in marks.reps if r.id in {old.id for old in touched}
            ]
            self._expect(self.at.study)

    @rule(change=CHANGES)
    def set(self, change: tuple[str, str]) -> None:
        self._edit(with_setting(self.at.study, *change))

    @rule(trial=TRIALS)
    def remove(self, trial: str) -> None:
        if trial in {t.id for t in self.at.study.trials}:
            self._edit(remove_trial(self.at.study, trial))

    @rule(trial=TRIALS, number=st.integers(1, 9))
    def describe(self, trial: str, number: int) -> None:
        if trial in {t.id for t in self.at.study.trials}:
            self._edit(with_trial(self.at.study, replace(self.at.study.trial(trial), set=number)))

    @rule(rater=st.sampled_from(["R1", "R2", "R3"]))
    def add_rater(self, rater: str) -> None:
        self._edit(with_rater(self.at.study, rater))

    @rule()
    def undo(self) -> None:
        entry = self.at.session.undo()
        assert (entry is not None) == (self.place > self.sitting_began)
        self.place -= entry is not None

    @rule()
    def redo(self) -> None:
        entry = self.at.session.redo()
        assert (entry is not None) == (self.place + 1 < len(self.states))
        self.place += entry is not None

    @rule()
    def save(self) -> None:
        self.at.session.save()

    @rule()
    def close_and_open(self) -> None:
        """Undo is of one sitting: a new one begins with nothing to take back or make again."""
        self.at.session.close()
        self.at = reopened(self.folder)
        assert self.at.messages == ()
        self.states = self.states[: self.place + 1]
        self.sitting_began = self.place

    def _copy(self) -> Open:
        self.copies += 1
        return reopened(killed(self.folder, self.scratch / f"copy {self.copies}"))

    @precondition(lambda self: hasattr(self, "at"))
    @rule()
    def killed_before_the_disk_has_it(self) -> None:
        """Killed right after an edit: what is left is a study that was, and nothing is said to be damaged."""
        self.at.session.edit("renamed", replace(self.at.study, name=f"{self.at.study.name}."))
        after = self.at.study
        copy = self._copy()
        assert copy.study in (self.states[self.place], after, *self.states)
        assert not copy.session.read_only
        copy.session.close()
        self._expect(after)

    @invariant()
    def study_is_that_of_the_list(self) -> None:
        if hasattr(self, "at"):
            assert self.at.study == self.states[self.place]
            assert assemble(parts(self.at.study)) == self.at.study  # all invariants of the types hold again

    @invariant()
    def study_survives_a_kill(self) -> None:
        """Project file and ledger as they lie there lead to the same study, with nothing to say."""
        if hasattr(self, "at"):
            self.at.session.worker.ledger.submit(lambda: None).result()
            self.at.session.worker.disk.submit(lambda: None).result()
            copy = self._copy()
            assert copy.study == self.states[self.place]
            assert (copy.messages, copy.session.read_only) == ((), "")
            copy.session.close()


def _run(template: Path, examples: int, steps: int) -> None:
    machine = type("Any", (Sequence,), {"template": template})
    quietly = [HealthCheck.too_slow, HealthCheck.filter_too_much]
    chosen = settings(max_examples=examples, stateful_step_count=steps, deadline=None, suppress_health_check=quietly)
    run_state_machine_as_test(machine, settings=chosen)


def test_short_sequences_of_edits_and_undos(template: Path) -> None:
    _run(template, examples=8, steps=12)


@pytest.mark.slow
def test_long_sequences_of_edits_and_undos(template: Path) -> None:
    _run(template, examples=10, steps=30)
