"""Which rep is to be looked at next: within the trial first, then on and round the study."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.model.checking import check_all, needs_check, next_to_check, previous_to_check, unchecked
from phasemark.model.errors import BadCall
from phasemark.model.mark_edits import check_rep, exclude_rep
from phasemark.model.marks import LOWERING, RAISING, Boundary, Decision, Marks, Phase, Rep
from phasemark.model.recording import EmgChannel
from phasemark.model.study import RecordingRef, Study, Trial

DONE = Decision("R1", "2026-01-01T00:00:00Z")


def rep(number: int, **how: object) -> Rep:
    begin = 100 * number
    phases = (
        Phase(LOWERING, Boundary(begin), Boundary(begin + 40)),
        Phase(RAISING, Boundary(begin + 40), Boundary(begin + 90)),
    )
    return Rep(number, phases, **how)  # type: ignore[arg-type]


def trial(trial_id: str, *reps: Rep, **how: object) -> Trial:
    ref = RecordingRef(trial_id, f"{trial_id}.h5", 1, "0" * 64, (1000,), ())
    marks = (Marks("R1", 1000, reps, 9),) if reps else ()
    return Trial(trial_id, "P01", ref, (EmgChannel("soleus", Fraction(1000)),), marks=marks, **how)  # type: ignore[arg-type]


def study(*trials: Trial) -> Study:
    return Study("heels", trials)


def edited(of: Study, trial_id: str, marks: Marks) -> Study:
    return replace(of, trials=tuple(t.with_marks(marks) if t.id == trial_id else t for t in of.trials))


def test_what_needs_no_check() -> None:
    """Incomplete reps do not count, excluded ones do not either, checked ones are done."""
    assert needs_check(rep(1))
    assert not any(needs_check(rep(1, **{how: value})) for how, value in
                   [("complete", False), ("excluded", DONE), ("checked", DONE)])  # fmt: skip
    assert unchecked(trial("A", rep(1), rep(2, complete=False), rep(3)), "R1") == (1, 3)
    assert unchecked(trial("A", rep(1), excluded=DONE), "R1") == ()
    assert unchecked(trial("A", rep(1)), "R2") == ()


def test_next_and_previous_run_within_the_trial_then_through_the_others_and_round() -> None:
    held = study(trial("A", rep(1), rep(2), rep(3)), trial("B"), trial("C", rep(1, checked=DONE), rep(2), rep(4)))
    assert next_to_check(held, "R1", "A", 1) == ("A", 2)
    assert next_to_check(held, "R1", "A", None) == ("A", 1)
    assert next_to_check(held, "R1", "A", 3) == ("A", 1)  # what was left out earlier in the trial comes first
    assert previous_to_check(held, "R1", "A", 1) == ("A", 3)
    assert previous_to_check(held, "R1", "A", None) == ("A", 3)
    marks = check_all(held.trial("A").marks_of("R1"), DONE)
    done = edited(held, "A", marks)
    assert next_to_check(done, "R1", "A", 3) == ("C", 2)
    assert previous_to_check(done, "R1", "A", 1) == ("C", 4)
    last = edited(done, "C", check_all(done.trial("C").marks_of("R1"), DONE))
    assert next_to_check(last, "R1", "A", 3) is None
    reopened = edited(last, "A", check_rep(marks, 2, None))
    assert next_to_check(reopened, "R1", "C", 4) == ("A", 2)  # after the last trial comes the first
    assert next_to_check(reopened, "R1", "A", 2) is None  # the rep itself is not given


def test_a_rep_that_is_gone_or_does_not_count_is_a_place_all_the_same() -> None:
    held = study(trial("A", rep(1), rep(2, complete=False), rep(3)), trial("B", rep(1)))
    assert next_to_check(held, "R1", "A", 2) == ("A", 3)
    assert next_to_check(held, "R1", "A", 77) == ("A", 1)
    with pytest.raises(BadCall):
        next_to_check(held, "R1", "Z", 1)


def test_check_all_leaves_what_needs_no_check() -> None:
    earlier = replace(DONE, at="2025-01-01T00:00:00Z")
    marks = Marks("R1", 1000, (rep(1, checked=earlier), rep(2, complete=False), rep(3, excluded=DONE), rep(4)), 9)
    assert [r.checked for r in check_all(marks, DONE).reps] == [earlier, None, None, DONE]


@given(data=st.data())
def test_going_on_from_any_rep_reaches_every_rep_once(data: st.DataObject) -> None:
    """Accept and go on until nothing is left: every rep that needs a check has one, and none was shown twice."""
    whole = study(
        *(
            trial(name, *(rep(n, complete=data.draw(st.booleans())) for n in range(1, data.draw(st.integers(1, 5)))))
            for name in "ABC"
        )
    )
    wanted = sum(len(unchecked(t, "R1")) for t in whole.trials)
    go = data.draw(st.sampled_from([next_to_check, previous_to_check]))
    here = go(whole, "R1", data.draw(st.sampled_from("ABC")), None)
    seen = []
    while here is not None:
        seen.append(here)
        name, number = here
        decide = data.draw(st.sampled_from([check_rep, exclude_rep]))
        whole = edited(whole, name, decide(whole.trial(name).marks_of("R1"), number, DONE))
        here = go(whole, "R1", name, number)
    assert len(seen) == len(set(seen)) == wanted
    assert not any(unchecked(t, "R1") for t in whole.trials)
