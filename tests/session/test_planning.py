"""The analysis plan in the ledger: written, changed, taken away, undone, and its history told."""

from dataclasses import replace
from pathlib import Path

import pytest
from small_study import Open, arrival, killed, new, recording, reopened

from phasemark.model.errors import BadCall
from phasemark.model.plan import AgainstLoad, Outcome, PrimaryTest
from phasemark.session.comparing import Asked, Compared, compare
from phasemark.session.plan_text import PLAN_KEYS, plan_lines, plan_names_nowhere, with_plan_texts
from phasemark.session.planning import plan_history, set_plan
from phasemark.store.ledger_lines import Action

WHOLE = (("a", "squat"), ("b", "lunge"), ("primary.muscle", "vastus medialis"), ("smallest_effect", "5"))


def _set(at: Open, *changes: tuple[str, str], reason: str = "") -> bool:
    study = at.study
    return set_plan(at.session, with_plan_texts(study, study.plan, changes, at.session.decision(reason)))


def _two_exercises(path: Path, people: int = 3) -> Open:
    at = new(path)
    arrivals = []
    for n in range(people):
        for exercise in ("squat", "lunge"):
            one = arrival(participant=f"P{n}", made=recording(seed=2 * n + (exercise == "squat")))
            description = type(one.description)(f"P{n}", exercise=exercise, order=1)
            arrivals.append(type(one)(description, recording=one.recording))
    at.add(*arrivals)
    at.mark()
    return at


def _compare(at: Open, asked: Asked, to: Path | None = None) -> Compared:
    found: Compared = at.wait(lambda **back: compare(at.session, asked, to=to, **back))
    return found


def test_a_plan_is_written_kept_and_its_changes_listed(tmp_path: Path) -> None:
    """Each change with its time, by whom, what was before and after, and its reason; reopened it is the same."""
    at = _two_exercises(tmp_path / "study")
    assert _set(at, *WHOLE)
    plan = at.study.plan
    assert plan is not None
    assert plan.muscles == ("vastus medialis", "rectus femoris")
    assert (plan.phases, plan.thirds) == (
        (AgainstLoad.AGAINST, AgainstLoad.WITH),
        ("whole", "lower", "middle", "upper"),
    )
    assert (plan.outcome, plan.test, plan.confidence) == (Outcome.RMS, PrimaryTest.PAIRED_T, 0.95)
    assert not _set(at, ("smallest_effect", "5.0"))  # says the same: keeps its date
    assert at.study.plan is plan
    assert _set(at, ("smallest_effect", "3"), ("phases", "against, rep"), reason="a reviewer asked")
    at.session.undo()
    at.session.redo()
    set_plan(at.session, None)
    at.session.close()
    written, changed, undone, redone, removed = plan_history(tmp_path / "study")
    assert (written.before, written.after) == (None, plan)
    assert ("smallest_effect", "5.0", "3.0") in changed.changes
    assert "smallest_effect: 5.0 -> 3.0" in changed.text
    assert "(a reviewer asked)" in changed.text
    assert (undone.action, redone.action) == (Action.UNDO, Action.REDO)
    assert removed.after is None
    assert "plan removed" in removed.text
    assert not any(change.after_results for change in (written, changed, removed))
    again = reopened(tmp_path / "study")
    assert again.study.plan is None
    again.session.undo()  # a new sitting has nothing to undo
    assert again.study.plan is None
    again.session.close()


def test_a_plan_survives_a_kill(tmp_path: Path) -> None:
    """It is in the ledger as soon as it is synced."""
    at = _two_exercises(tmp_path / "study")
    _set(at, *WHOLE)
    at.synced()
    after = reopened(killed(tmp_path / "study", tmp_path / "left"))
    assert after.study.plan == at.study.plan
    after.session.close()
    at.session.close()


def test_a_plan_written_after_results_is_known_as_such(tmp_path: Path) -> None:
    """The ledger says that a comparison was shown; what is planned after that reads as exploratory."""
    at = _two_exercises(tmp_path / "study")
    first = _compare(at, Asked("squat", "lunge"))
    assert (first.carried.planned, first.history) == (False, ())
    assert "Nothing was planned beforehand" in first.report.cautions[0]
    assert first.report.comparison.primary is None
    _set(at, *WHOLE)
    second = _compare(at, Asked())
    assert second.carried.planned
    assert second.history[0].after_results
    assert "after results had been shown" in second.standing_said[0]
    at.session.close()


def test_a_plan_carried_out_as_written_and_otherwise(tmp_path: Path) -> None:
    """As planned either way round; another level, smallest effect or factor is said to differ, key by key."""
    at = _two_exercises(tmp_path / "study")
    _set(at, *WHOLE)
    planned = _compare(at, Asked())
    assert planned.carried.planned
    assert planned.standing_said[0].startswith("Planned on 20")
    turned = _compare(at, Asked("LUNGE", "squat"))
    assert (turned.carried.plan.a, turned.carried.planned) == ("lunge", True)
    one, other = planned.report.comparison.cells[0], turned.report.comparison.cells[0]
    assert one.difference.mean == -other.difference.mean
    differing = _compare(at, Asked(smallest_effect=1.0))
    assert not differing.carried.planned
    assert differing.carried.differs == (("smallest_effect", "5.0", "1.0"),)
    assert "not the comparison that was planned (smallest_effect: planned 5.0, here 1.0)" in differing.standing_said[0]
    at.session.close()


def test_what_cannot_be_compared_is_refused_with_what_there_is(tmp_path: Path) -> None:
    """Names that no trial has, and a factor that tells people apart."""
    at = _two_exercises(tmp_path / "study")
    with pytest.raises(BadCall, match="No task trial has the exercise 'jump'; there are squat, lunge"):
        _compare(at, Asked("squat", "jump"))
    with pytest.raises(BadCall, match="Say which two to compare"):
        _compare(at, Asked("squat"))
    with pytest.raises(BadCall, match="different levels"):
        _compare(at, Asked("squat", "squat"))
    with pytest.raises(BadCall, match="exercise does not tell people apart"):
        _compare(at, Asked(group="exercise"))
    assert _compare(at, Asked()).carried.plan.a == "squat"  # there is only one way
    file = tmp_path / "file"
    file.write_text("x")
    with pytest.raises(BadCall, match="is a file"):
        _compare(at, Asked(), file)
    at.session.close()


def test_a_study_opened_for_reading_is_compared_all_the_same(tmp_path: Path) -> None:
    """Nothing is written then; the tables can be, elsewhere."""
    at = _two_exercises(tmp_path / "study")
    at.session.close()
    before = (tmp_path / "study" / "ledger.jsonl").read_bytes()
    reader = reopened(tmp_path / "study", write=False)
    found = _compare(reader, Asked(), tmp_path / "out")
    assert {file.name for file in found.files} >= {"comparison.csv", "plan.json", "mixed_model.R"}
    assert all(file.is_file() for file in found.files)
    reader.session.close()
    assert (tmp_path / "study" / "ledger.jsonl").read_bytes() == before


def test_a_group_of_people_stands_in_tables_and_scripts(tmp_path: Path) -> None:
    """It cannot be compared by pairs; the mixed models take it in, by itself where it is the only one."""
    at = _two_exercises(tmp_path / "study")
    groups = {"P0": "trained", "P1": "novice", "P2": "novice"}
    trials = tuple(replace(t, factors=(("status", groups[t.participant]),)) for t in at.study.trials)
    at.session.edit("groups", replace(at.study, trials=trials))
    with pytest.raises(BadCall, match="Nobody has two levels of status"):
        _compare(at, Asked("trained", "novice", "status"))
    for asked in (Asked(), Asked(group="status")):
        _compare(at, asked, tmp_path / "out")
        assert 'GROUP = "group_status"' in (tmp_path / "out" / "mixed_model.py").read_text(encoding="utf-8")
    title = (tmp_path / "out" / "comparison_reps.csv").read_text(encoding="utf-8").splitlines()[0]
    assert title.endswith(",group_status")
    at.session.close()


def test_every_key_of_a_plan_is_read_as_it_is_shown(tmp_path: Path) -> None:
    """What is shown can be typed again, each key by itself, and changes nothing."""
    at = new(tmp_path / "study")
    _set(at, *WHOLE, ("muscles", "vastus medialis, soleus"), ("exclusion_rules", "incomplete, doubt over 0.5"))
    plan = at.study.plan
    assert plan is not None
    lines = dict(plan_lines(plan))
    assert tuple(lines) == PLAN_KEYS
    for key, text in lines.items():
        assert with_plan_texts(at.study, plan, [(key, text)], plan.decision) == plan
    at.session.close()


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("smallest_effect", "0", "must be above zero"),
        ("smallest_effect", "much", "smallest_effect is a number"),
        ("test", "bootstrap", "test is one of paired t, Wilcoxon signed rank, sign-flip permutation"),
        ("phases", "up", "phases is one of against the load, with the load, rep"),
        ("muscles", " , ", "muscles is a list"),
        ("primary.muscle", "soleus", "is not among those of the plan"),
        ("confidence", "95", "between 0.5 and 1"),
        ("b", "squat", "two different levels"),
        ("alpha", "0.05", "A plan has no 'alpha'; it has factor, a, b"),
    ],
)
def test_a_slip_is_refused_in_one_sentence(tmp_path: Path, key: str, text: str, said: str) -> None:
    """It says the key and what it can be, and the plan stays as it was."""
    at = _two_exercises(tmp_path / "study", people=1)
    _set(at, *WHOLE)
    with pytest.raises(BadCall, match=said):
        _set(at, (key, text))
    assert len(plan_history(at.session.path)) <= 1
    at.session.close()


def test_a_new_plan_says_what_it_must_and_names_are_looked_up(tmp_path: Path) -> None:
    """The smallest effect that matters has no default; a level that no trial has is said, for a plan may come first."""
    at = _two_exercises(tmp_path / "study", people=1)
    with pytest.raises(BadCall, match=r"needs primary.muscle, smallest_effect"):
        _set(at, *WHOLE[:2])
    _set(at, ("a", "hop"), *WHOLE[1:])
    plan = at.study.plan
    assert plan is not None
    assert plan_names_nowhere(at.study, plan) == ("No task trial has the exercise 'hop' (there are squat, lunge).",)
    at.session.close()
