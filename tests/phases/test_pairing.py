"""Which phase comes first."""

import numpy as np
import pytest
from synthetic import SETTINGS, Script, recorded

from phasemark.model.marks import LOWERING, RAISING
from phasemark.phases.detect import find_phases
from phasemark.phases.pairing import Opening, opening, vote_first_phase


def opening_of(script: Script, **recording: object) -> str | None:
    movement = recorded(script, np.random.default_rng(0), **recording).movement()
    shown = opening(find_phases(movement, SETTINGS), movement, SETTINGS)
    return None if shown is None else shown.name


@pytest.mark.parametrize(("size", "first"), [(50.0, RAISING), (-50.0, LOWERING)])
def test_plain_sets_open_with_their_first_phase(size: float, first: str) -> None:
    """Reps away from the rest open with the phase that goes away."""
    assert opening_of(Script().hold(1).rep(1, 1, size).hold(0.2).rep(1, 1, size).hold(1)) == first


def test_standing_up_is_not_the_first_phase() -> None:
    """A set of squats that is entered by standing up opens with lowering."""
    script = Script(start=-80).hold(1).move(2, 80).hold(1)
    for _ in range(4):
        script.rep(1, 1, -50).hold(0.5)
    assert opening_of(script) == LOWERING


def test_long_rests_tell_where_reps_begin() -> None:
    """A recording that begins within a rep is told by its rests: two seconds below, none above."""
    script = Script().hold(0.5)
    for _ in range(4):
        script.rep(1, 1, 50).hold(2)
    assert opening_of(script, cut=(1.7, 0)) == RAISING


@pytest.mark.parametrize("way", [1, -1])
def test_failed_last_repetition_has_no_say(way: int) -> None:
    """A set whose last rep comes halfway and goes back: two small phases that would close a rep of the other order."""
    script = Script().hold(1)
    for _ in range(4):
        script.rep(1.2, 1, -50 * way, pause=0.4).hold(0.8)
    script.move(1.2, -50 * way).hold(0.4).move(0.8, 20 * way).move(0.8, -20 * way).hold(1)
    assert opening_of(script) == (LOWERING if way == 1 else RAISING)


def votes(*names: str, clear: bool) -> list[Opening]:
    return [Opening(name, clear) for name in names]


def test_votes() -> None:
    """Most trials decide; where they are even or silent it is lowering."""
    assert vote_first_phase([*votes(RAISING, RAISING, LOWERING, clear=True), None]) == RAISING
    assert vote_first_phase(votes(RAISING, LOWERING, clear=True)) == LOWERING
    assert vote_first_phase([]) == LOWERING
    assert opening(()) is None


def test_trials_that_show_it_clearly_have_the_say() -> None:
    """Trials that begin in mid-rep fit either order; they are asked only where the clear ones are even or absent."""
    unclear = votes(LOWERING, LOWERING, LOWERING, clear=False)
    assert vote_first_phase([*votes(RAISING, RAISING, clear=True), *unclear]) == RAISING
    assert vote_first_phase([*votes(RAISING, LOWERING, clear=True), *unclear]) == LOWERING
    assert vote_first_phase(unclear) == LOWERING
