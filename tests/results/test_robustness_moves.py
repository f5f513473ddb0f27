"""Amplitudes under moved boundaries, against marks that are moved and measured by the usual way."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from one_trial import EMG, marked, noise, phase
from one_trial import trial as a_trial

from phasemark.model.clock import first_sample, first_samples
from phasemark.model.mark_edits import add_rep
from phasemark.model.marks import LOWERING, RAISING, Boundary, Marks, Rep
from phasemark.model.plan import Outcome
from phasemark.model.recording import Treatment
from phasemark.model.settings import Settings
from phasemark.model.study import Trial
from phasemark.results.measure import condition_trial, measure_rep
from phasemark.results.robustness.boundaries import FIRST_DRAW, TOGETHER, Boundaries, boundaries_of, in_order, moved
from phasemark.results.robustness.moved_values import Moves, moved_amplitudes
from phasemark.results.segments import HOLD, WHOLE, Segment, segments
from phasemark.signal.amplitude import enough, enough_each
from phasemark.signal.baseline import each_without_noise, without_noise
from phasemark.signal.conditioning import Conditioned

SHIFT = 100  # 50 ms at 2 kHz
SETTINGS = Settings()
MARKS = a_trial().marks_of("R1")


def growing(trial: Trial, values: tuple[NDArray[np.float64], ...] | None = None) -> tuple[Conditioned, ...]:
    grown = [v * np.linspace(0.2, 2.0, len(v)) for v in values or noise()]
    return condition_trial(trial, grown, SETTINGS)


def moves_of(trial: Trial, shift: int = SHIFT, draws: int = 40, seed: int = 1) -> Moves:
    boundaries = boundaries_of(trial.marks_of("R1"))
    return Moves(boundaries, moved(boundaries, shift, draws, seed, trial.id), trial.clock)


def placed(rep: Rep, at: dict[int, int]) -> Rep:
    """The rep with its boundaries where a row of moves puts them."""
    phases = []
    for own in rep.phases:
        b, one, two, e = (Boundary(at[boundary.sample]) for _, boundary in own.boundaries())
        phases.append(replace(own, begin=b, end=e, lines=(one, two)))
    return replace(rep, phases=tuple(phases))


def compared(trial: Trial, conditioned: tuple[Conditioned, ...], settings: Settings, moves: Moves) -> float:
    """The largest relative difference to measure_rep over all rows, reps, segments, channels and both outcomes."""
    worst = 0.0
    marks = trial.marks_of("R1")
    for rep in marks.reps:
        own = tuple(
            s for s in segments(rep, marks.thirds_rule, pause_in_rep=settings.pause_in_rep) if s.phase != "pause"
        )
        found = {(c, o): moved_amplitudes(conditioned[c], own, moves, o) for c in range(2) for o in Outcome}
        for row, positions in enumerate(moves.positions.tolist()):
            at = dict(zip(moves.boundaries.samples.tolist(), positions, strict=True))
            measured = measure_rep(trial, placed(rep, at), marks.thirds_rule, conditioned, settings)
            kept = [value for value in measured if value.segment.phase != "pause"]
            assert len(kept) == 2 * len(own)
            for index, value in enumerate(kept):
                for outcome, wanted in (
                    (Outcome.RMS, value.amplitude.rms),
                    (Outcome.MEAN_AMPLITUDE, value.amplitude.mean_amplitude),
                ):
                    got = found[value.channel, outcome][index // 2, row]
                    assert np.isnan(got) == np.isnan(wanted)
                    if not np.isnan(wanted):
                        worst = max(worst, abs(got / wanted - 1))
    return worst


@pytest.mark.parametrize("pause_in_rep", [True, False])
def test_every_row_is_what_measuring_its_marks_gives(pause_in_rep: bool) -> None:
    """Two channels, one at another rate than the clock and ending early; together and drawn; with and without pause."""
    trial = a_trial()
    assert compared(trial, growing(trial), replace(SETTINGS, pause_in_rep=pause_in_rep), moves_of(trial)) < 1e-12


def test_missing_samples_count_as_in_measuring() -> None:
    """Gaps at boundaries and within, so that some rows fall under 90 % valid samples and others do not."""
    values = noise()
    values[0][2070:2122] = np.nan
    values[0][9000:9120] = np.nan
    values[1][4500:4610] = np.nan
    trial = a_trial(values=values)
    conditioned = growing(trial, values)
    moves = moves_of(trial, draws=150)
    missing = [
        np.isnan(moved_amplitudes(conditioned[0], (Segment(LOWERING, "upper", ((2001, 2503),)),), moves, o)).mean()
        for o in Outcome
    ]
    assert 0 < missing[0] < 1
    assert missing[0] == missing[1]
    assert compared(trial, conditioned, SETTINGS, moves) < 1e-12


def test_phases_that_meet_and_short_ones_stay_in_order() -> None:
    """Thirds shorter than the move and phases that share a boundary: rows with segments that vanish are missing."""
    trial = a_trial()
    marks = Marks("R1", trial.length, thirds_rule="rep")
    marks = add_rep(marks, (phase(LOWERING, 3000, 3300), phase(RAISING, 3300, 3500)))
    marks = add_rep(marks, (phase(RAISING, 3500, 4700), phase(LOWERING, 4760, 6000)))
    trial = trial.with_marks(marks)
    moves = moves_of(trial, draws=300)
    assert (np.diff(moves.positions, axis=1) >= 0).all()
    own = tuple(segments(marks.reps[0], "rep", pause_in_rep=True))
    third = moved_amplitudes(growing(trial)[0], own[:1], moves, Outcome.RMS)
    empty = moves.positions[:, 1] == moves.positions[:, 0]
    assert empty.any()
    assert np.isnan(third[0][empty]).all()
    assert np.isfinite(third[0][~empty]).all()


def test_an_artefact_elsewhere_in_the_repetition_costs_no_digits() -> None:
    values = noise()
    trial = a_trial(values=values)
    plain = tuple(
        Conditioned(v, c.rate, condition_trial(trial, values, SETTINGS)[i].sums, Treatment.RAW)
        for i, (v, c) in enumerate(zip(values, EMG, strict=True))
    )
    from phasemark.signal.block_sums import block_sums

    spoiled = values[0].copy()
    spoiled[2750:2760] = 1e9  # in the middle third, over 50 ms from every boundary
    clean, dirty = (replace(plain[0], values=v, sums=block_sums(v)) for v in (values[0], spoiled))
    moves = moves_of(trial)
    other = tuple(s for s in segments(trial.marks_of("R1").reps[0], "rep", pause_in_rep=True) if s.third != "middle")
    thirds = tuple(s for s in other if s.third in ("lower", "upper"))
    for outcome in Outcome:
        both = [moved_amplitudes(one, thirds, moves, outcome) for one in (clean, dirty)]
        np.testing.assert_array_equal(both[0], both[1])


def test_rows_together_are_what_they_are_called() -> None:
    boundaries = boundaries_of(MARKS)
    rows = moved(boundaries, SHIFT, 0, 1, "T001") - boundaries.samples
    assert len(rows) == FIRST_DRAW == 1 + len(TOGETHER)
    assert not rows[0].any()
    assert (rows[1] == -SHIFT).all()
    assert (rows[2] == SHIFT).all()
    first = MARKS.reps[0].phases[0]
    at = {sample: place for place, sample in enumerate(boundaries.samples.tolist())}
    assert first.lines is not None
    begin, line, end = at[first.begin.sample], at[first.lines[0].sample], at[first.end.sample]
    assert rows[3][[begin, line, end]].tolist() == [-SHIFT, 0, SHIFT]
    assert rows[4][[begin, line, end]].tolist() == [SHIFT, 0, -SHIFT]


def test_a_boundary_that_parts_two_phases_is_one_and_stays_in_longer_and_shorter() -> None:
    marks = add_rep(Marks("R1", 20000), (phase(LOWERING, 3000, 6000), phase(RAISING, 6000, 9000)))
    boundaries = boundaries_of(marks)
    assert len(boundaries.samples) == 7
    assert boundaries.way.tolist() == [-1, 0, 0, 0, 0, 0, 1]


def test_a_third_never_entered_stays_missing() -> None:
    trial = a_trial()
    own = phase(LOWERING, 3000, 6000, lines=(3000, 4500))
    trial = trial.with_marks(add_rep(Marks("R1", trial.length), (own, phase(RAISING, 7000, 9000))))
    never = Segment(LOWERING, "upper", ((3000, 3000),))
    assert np.isnan(moved_amplitudes(growing(trial)[0], (never,), moves_of(trial), Outcome.RMS)).all()


def test_draws_are_uniform_within_the_shift_and_follow_seed_and_trial_only() -> None:
    boundaries = boundaries_of(MARKS)
    once, again = (moved(boundaries, SHIFT, 2000, 5, "T001") for _ in range(2))
    np.testing.assert_array_equal(once, again)
    by = (once - boundaries.samples)[FIRST_DRAW:]
    assert by.min() == -SHIFT
    assert by.max() == SHIFT
    uniform_sd = np.sqrt(((2 * SHIFT + 1) ** 2 - 1) / 12)  # of whole numbers from -SHIFT to SHIFT
    assert by.std() == pytest.approx(uniform_sd, rel=0.01)
    assert abs(np.corrcoef(by[:, 2], by[:, 3])[0, 1]) < 0.1
    for other in (moved(boundaries, SHIFT, 2000, 6, "T001"), moved(boundaries, SHIFT, 2000, 5, "T002")):
        assert (other[:FIRST_DRAW] == once[:FIRST_DRAW]).all()
        assert (other[FIRST_DRAW:] != once[FIRST_DRAW:]).any()
    np.testing.assert_array_equal(moved(boundaries, SHIFT, 10, 5, "T001"), once[: FIRST_DRAW + 10])


@given(st.lists(st.integers(0, 500), min_size=1, max_size=9), st.integers(0, 200), st.integers(0, 99))
def test_places_keep_order_and_never_leave_their_reach(samples: list[int], shift: int, seed: int) -> None:
    rising = np.unique(np.array(samples, dtype=np.int64))
    boundaries = Boundaries(rising, (np.arange(len(rising)),), np.zeros_like(rising), 500)
    places = moved(boundaries, shift, 20, seed, "T")
    assert (np.diff(places, axis=1) >= 0).all()
    assert (np.abs(places - rising) <= shift).all()
    assert places.min() >= 0
    assert places.max() <= 500


def test_places_that_pass_each_other_meet_midway_and_others_stay() -> None:
    assert in_order(np.array([[10, 30, 20, 50]])).tolist() == [[10, 25, 25, 50]]
    assert in_order(np.array([[10, 20, 30]])).tolist() == [[10, 20, 30]]


def test_holds_move_by_their_own_two_ends() -> None:
    """Stretches of two muscles may overlap; each keeps only its own order."""
    holds = [Segment(HOLD, WHOLE, ((4000, 9000),)), Segment(HOLD, WHOLE, ((5000, 8000),))]
    boundaries = boundaries_of(Marks("R1", 20000), holds)
    assert boundaries.samples.tolist() == [4000, 5000, 8000, 9000]
    assert sorted(boundaries.samples[chain].tolist() for chain in boundaries.chains) == [[4000, 9000], [5000, 8000]]
    assert boundaries.way.tolist() == [-1, -1, 1, 1]


def test_no_shift_has_no_spread() -> None:
    trial = a_trial()
    moves = moves_of(trial, shift=0)
    own = tuple(segments(trial.marks_of("R1").reps[0], "rep", pause_in_rep=True))
    for channel in growing(trial):
        for outcome in Outcome:
            assert (np.ptp(moved_amplitudes(channel, own, moves, outcome), axis=1) == 0).all()


def test_a_rectified_channel_has_no_rms() -> None:
    trial = a_trial()
    own = tuple(segments(trial.marks_of("R1").reps[0], "rep", pause_in_rep=True))
    rectified = replace(growing(trial)[0], treatment=Treatment.RECTIFIED)
    assert np.isnan(moved_amplitudes(rectified, own, moves_of(trial), Outcome.RMS)).all()
    assert np.isfinite(moved_amplitudes(rectified, own, moves_of(trial), Outcome.MEAN_AMPLITUDE)).all()


def test_a_trial_without_marks_has_no_boundaries() -> None:
    trial = a_trial().with_marks(Marks("R1", a_trial().length))
    moves = moves_of(trial, draws=3)
    assert moves.positions.shape == (FIRST_DRAW + 3, 0)
    assert moved_amplitudes(growing(trial)[0], (), moves, Outcome.RMS).shape == (0, FIRST_DRAW + 3)


def test_moves_near_the_ends_of_the_recording_stop_there() -> None:
    trial = marked(a_trial(), late=-1980)
    moves = moves_of(trial)
    assert moves.positions.min() == 0
    assert compared(trial, growing(trial), SETTINGS, moves) < 1e-12


@given(
    st.lists(st.integers(0, 10**8), max_size=5),
    st.fractions(1, 5000, max_denominator=10**6),
    st.fractions(1, 5000, max_denominator=10**14),
)
def test_first_samples_are_those_one_by_one(boundaries: list[int], clock: Fraction, rate: Fraction) -> None:
    found = first_samples(np.array(boundaries, dtype=np.int64), clock, rate)
    assert found.tolist() == [first_sample(boundary, clock, rate) for boundary in boundaries]


@given(st.integers(0, 300), st.integers(0, 300))
def test_the_rule_of_missing_values_is_one(valid: int, samples: int) -> None:
    assert bool(enough_each(np.array(valid), np.array(samples))) == enough(valid, samples)


def test_noise_is_taken_off_many_as_off_one() -> None:
    values = np.array([0.0, 0.1, 0.3, np.nan])
    one_by_one = [without_noise(value, 0.1) for value in values]
    np.testing.assert_array_equal(each_without_noise(values, 0.1), one_by_one)
    assert np.isnan(each_without_noise(values, np.nan)).all()
