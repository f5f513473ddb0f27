"""Why a rep is doubted, in words, and that a plain one is not."""

from dataclasses import replace

import numpy as np
import pytest
from synthetic import Case, Script, recorded

from phasemark.model.marks import Rep


def marked(script: Script, **recording: object) -> tuple[Rep, ...]:
    case: Case = recorded(script, np.random.default_rng(0), **recording)
    return case.marks().reps


def plain_set(count: int = 4) -> Script:
    script = Script().hold(1)
    for _ in range(count):
        script.rep(1, 1, 50, pause=0.4).hold(0.8)
    return script


def test_like_reps_are_not_doubted() -> None:
    """Reps that are alike, at rest at both ends, have no doubt at all."""
    assert all(rep.doubt == 0 and rep.doubts == () for rep in marked(plain_set()))


def test_reduced_range_is_said() -> None:
    """A rep of 59 % of the others' range says how far below the median it is."""
    reps = marked(plain_set().rep(1, 1, 50 * 0.59).hold(1))
    assert "range of motion 41 % below this trial's median" in reps[-1].doubts
    assert reps[-1].doubt > 0.5
    assert reps[0].doubt == 0


def test_slow_phase_is_said() -> None:
    """A phase three times as long as the others says so."""
    doubts = marked(plain_set().rep(3, 1, 50, pause=0.4).hold(1))[-1].doubts
    assert any("raising 3.0 times as long" in text for text in doubts)


def test_going_back_over_a_level_is_said() -> None:
    """A rise that goes back by 6 % just after the upper third level raises the doubt."""
    script = plain_set()
    script.move(0.8, 35).move(0.3, -4).move(0.8, 19).hold(0.5).move(1, -50).hold(1)
    assert any("goes back over a third level by" in text for text in marked(script)[-1].doubts)


def test_drift_in_the_pause_is_said() -> None:
    """A hold that sags by 20 % of the range is named."""
    assert any(
        "during the pause" in text for text in marked(plain_set().rep(1, 1, 50, pause=3, drift=-10).hold(1))[-1].doubts
    )


def test_cut_by_the_recording_is_said() -> None:
    """A rep whose first phase was under way when the recording began is doubted, or incomplete."""
    first = marked(plain_set(), cut=(1.45, 0))[0]
    assert "raising begins in mid-movement, cut off by the start of the recording" in first.doubts
    assert not first.complete
    last = marked(Script().hold(1).rep(1, 1, 50).hold(0.5).rep(1, 1, 50), cut=(0, 0.3))[-1]
    assert "lowering ends in mid-movement, cut off by the end of the recording" in last.doubts


def test_rep_that_does_not_come_back_is_incomplete() -> None:
    """A rep that ends 40 % of its range from where it began does not count, and says why."""
    reps = marked(plain_set().move(1, 50).hold(0.5).move(1, -30).hold(1))
    assert not reps[-1].complete
    assert any("ends 40 % of its range away" in text for text in reps[-1].doubts)


@pytest.mark.parametrize("size", [150.0, 200.0])
def test_way_to_the_bar_is_not_counted(size: float) -> None:
    """A movement there and back before the set, three or four times its range, is shown and not counted."""
    script = Script().hold(1).move(2, size).hold(0.5).move(2, -size).hold(1)
    script.parts += plain_set(5).parts
    reps = marked(script)
    assert [rep.complete for rep in reps][-5:] == [True] * 5
    assert sum(rep.complete for rep in reps) == 5


def test_doubt_lies_between_0_and_1() -> None:
    """However many reasons there are, the doubt stays below 1."""
    case = recorded(plain_set().rep(4, 4, 20, pause=2, drift=-6), np.random.default_rng(0), cut=(0, 2.5))
    values = case.values.copy()
    values[-300:-290] = np.nan
    assert all(0 <= rep.doubt <= 1 for rep in replace(case, values=values).marks().reps)
