"""Which reps are in the means, and why others are not."""

from dataclasses import replace

import pytest
from one_trial import EMG, WHY, trial

from phasemark.model.mark_edits import exclude_rep, with_rep
from phasemark.model.marks import ChannelExclusion
from phasemark.model.recording import Side
from phasemark.model.settings import CountedReps, CountRule
from phasemark.model.study import Kind, Trial
from phasemark.results.standing import Standing, standing

ALL = CountedReps()
INNER = CountedReps(CountRule.INNER)


def _stand(one: Trial, rep: int, counted: CountedReps = ALL, channel: int = 0) -> Standing:
    marks = one.marks_of("R1")
    return standing(one, marks.rep(rep), EMG[channel], counted, marks.numbers())


def _counted(one: Trial, counted: CountedReps) -> list[int]:
    return [rep.id for rep in one.marks_of("R1").reps if _stand(one, rep.id, counted).counted]


@pytest.mark.parametrize(
    ("counted", "ids"),
    [
        (ALL, [1, 2, 3]),
        (INNER, [2]),
        (CountedReps(CountRule.LISTED, (5,)), []),
        (CountedReps(CountRule.LISTED, (1, 3, 5)), [1, 3]),
    ],
)
def test_complete_reps_count_by_their_rule(counted: CountedReps, ids: list[int]) -> None:
    """All, all but first and last, or those listed; the incomplete one (id 4) never does."""
    assert _counted(trial(), counted) == ids


def test_an_excluded_rep_has_no_substitute() -> None:
    """Numbers stay as performed: with the first excluded, the second is not the first now."""
    one = trial()
    one = one.with_marks(exclude_rep(one.marks[0], 1, WHY))
    assert _counted(one, CountedReps(CountRule.LISTED, (1, 2))) == [2]
    assert _counted(one, INNER) == [2]
    assert one.marks[0].numbers() == {1: 1, 2: 2, 3: 3}


def test_reasons_say_why_a_rep_does_not_count() -> None:
    one = trial()
    assert _stand(one, 4) == Standing(False, False, "incomplete repetition")
    assert "not among the counted" in _stand(one, 1, INNER).reason
    assert _stand(replace(one, kind=Kind.WARM_UP), 1) == Standing(False, False, "not a task trial (warm-up)")
    assert _stand(one.with_marks(exclude_rep(one.marks[0], 1, WHY)), 1) == Standing(False, True, WHY.reason)
    assert _stand(replace(one, excluded=WHY), 4) == Standing(False, True, WHY.reason)


def test_a_channel_is_excluded_alone_in_a_rep_or_in_a_trial() -> None:
    """Muscle and side both count; the other channel and the other reps stay."""
    gone = ChannelExclusion("vastus medialis", Side.LEFT, WHY)
    other_side = ChannelExclusion("vastus medialis", Side.RIGHT, WHY)
    one = trial()
    in_rep = one.with_marks(with_rep(one.marks[0], replace(one.marks[0].rep(2), excluded_channels=(gone,))))
    assert [_stand(in_rep, rep).counted for rep in (1, 2, 3)] == [True, False, True]
    assert _stand(in_rep, 2, channel=1).counted
    in_trial = replace(one, excluded_channels=(gone,))
    assert [_stand(in_trial, rep).excluded for rep in (1, 2, 3, 4)] == [True] * 4
    assert _stand(in_trial, 2, channel=1).counted
    assert _stand(replace(one, excluded_channels=(other_side,)), 1).counted
