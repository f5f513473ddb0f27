"""Any sequence of edits, undos, saves, crashes and damage leads to the study that was kept in memory."""

import shutil
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from making_studies import DECISION, gesture, marks, phase, trial

from phasemark.model import mark_edits, study_edits
from phasemark.model.changes import differences
from phasemark.model.marks import Marks, MarksError
from phasemark.model.settings import FilterSettings
from phasemark.model.study import Exercise, Study
from phasemark.store.folder import StudyFolder
from phasemark.store.ledger_lines import Action, Gesture
from phasemark.store.opening import load
from phasemark.store.tables import ResultTable

pytestmark = pytest.mark.slow  # kept out of the fast loop

raters = st.sampled_from(["R1", "R2"])
places = st.sampled_from(list(mark_edits.Place))


class StudyInFiles(RuleBasedStateMachine):
    """The files of a study beside the same study in memory, with its undo history."""

    @initialize()
    def create(self) -> None:
        self.root = Path(tempfile.mkdtemp())
        self.path = self.root / "study"
        self.study = Study("x")
        self.folder = StudyFolder.create(self.path, self.study)
        self.past: list[Study] = []
        self.future: list[Study] = []
        self.added = 0

    def teardown(self) -> None:
        self.folder.close()
        shutil.rmtree(self.root)

    def edit(self, after: Study) -> None:
        if after == self.study:
            return
        self.folder.append(gesture("edit", self.study, after))
        self.past.append(self.study)
        self.future.clear()
        self.study = after

    def step(self, action: Action, source: list[Study], target: list[Study]) -> None:
        after = source.pop()
        target.append(self.study)
        self.folder.append(Gesture(str(action), differences(self.study, after), action=action))
        self.study = after

    @rule(rater=raters)
    def add_trial(self, rater: str) -> None:
        self.added += 1
        made = trial(f"T{self.added:03d}")
        self.edit(study_edits.add_trials(self.study, (made.with_marks(marks(rater, made.length)),)))

    @rule(data=st.data(), rater=raters, place=places, sample=st.integers(-10, 5000))
    def edit_marks(self, data: st.DataObject, rater: str, place: mark_edits.Place, sample: int) -> None:
        if not self.study.trials:
            return
        chosen = data.draw(st.sampled_from(self.study.trials))

        def change(old: Marks) -> Marks:
            if not old.reps:
                return mark_edits.add_rep(old, (phase("raising", 10, 200),))
            rep = data.draw(st.sampled_from(old.reps)).id
            kind = data.draw(st.sampled_from(["move", "delete", "check", "exclude", "add"]))
            if kind == "move":
                return mark_edits.move_boundary(old, mark_edits.Address(rep, 0, place), sample)
            if kind == "add":
                return mark_edits.add_rep(old, (phase("lowering", max(sample, 0), 30),))
            if kind == "delete":
                return mark_edits.delete_rep(old, rep)
            decide = mark_edits.check_rep if kind == "check" else mark_edits.exclude_rep
            return decide(old, rep, data.draw(st.sampled_from([DECISION, None])))

        try:
            self.edit(study_edits.edit_marks(self.study, chosen.id, rater, change))
        except MarksError:
            return  # an edit that would break the marks is refused before it reaches any file

    @rule(data=st.data(), text=st.text(max_size=8))
    def edit_study(self, data: st.DataObject, text: str) -> None:
        edits = {
            "settings": lambda s: study_edits.with_settings(
                s, replace(s.settings, filter=FilterSettings(len(text) + 1.0))
            ),
            "exercise": lambda s: study_edits.with_exercise(s, Exercise(text, None, "lowering")),
            "name": lambda s: replace(s, name=text),
            "rater": lambda s: study_edits.with_rater(s, "R" + text),
            "remove": lambda s: study_edits.remove_trial(s, s.trials[0].id) if s.trials else s,
            "factor": lambda s: (
                study_edits.with_trial(s, replace(s.trials[-1], factors=((text, text),))) if s.trials else s
            ),
        }
        self.edit(data.draw(st.sampled_from(sorted(edits)).map(edits.__getitem__))(self.study))

    @precondition(lambda self: self.past)
    @rule()
    def undo(self) -> None:
        self.step(Action.UNDO, self.past, self.future)

    @precondition(lambda self: self.future)
    @rule()
    def redo(self) -> None:
        self.step(Action.REDO, self.future, self.past)

    @rule(rows=st.integers(0, 3))
    def save(self, rows: int) -> None:
        self.folder.save(self.study, ResultTable((("T001", "k"),), {"rms_mV": np.arange(rows, dtype=np.float64)}))

    @rule()
    def reopen(self) -> None:
        """Closed without saving, which is what a crash leaves."""
        self.folder.close()
        opened = StudyFolder.open(self.path)
        assert (opened.study, opened.read_only, opened.messages) == (self.study, "", ())
        self.folder = opened.folder

    @rule(torn=st.binary(min_size=1, max_size=60).filter(lambda torn: b"check" not in torn))
    def tear(self, torn: bytes) -> None:
        self.folder.close()
        with (self.path / "ledger.jsonl").open("ab") as file:
            file.write(torn)
        opened = StudyFolder.open(self.path)
        assert (opened.study, opened.read_only, len(opened.messages)) == (self.study, "", 1)
        self.folder = opened.folder

    @rule(data=st.data())
    def damage_project(self, data: st.DataObject) -> None:
        self.folder.close()
        path = self.path / "project.h5"
        whole = bytearray(path.read_bytes())
        whole[data.draw(st.integers(0, len(whole) - 1))] ^= 0x20
        path.write_bytes(whole)
        opened = StudyFolder.open(self.path)
        assert (opened.study, opened.read_only, len(opened.messages)) == (self.study, "", 1)
        self.folder = opened.folder

    @invariant()
    def files_lead_to_the_same_study(self) -> None:
        if hasattr(self, "study"):
            loaded = load(self.path)
            assert loaded.study == self.study
            assert (loaded.damage, loaded.rebuilt_from, loaded.tail.torn) == ("", "", b"")


StudyInFiles.TestCase.settings = settings(max_examples=10, stateful_step_count=20, deadline=None)
test_files_follow_any_sequence_of_edits = StudyInFiles.TestCase
