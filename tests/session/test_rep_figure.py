"""The figure of a rep: its values are the measured ones, and every point of a curve lies at its height."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from known_rep import EMG, RATES, by_hand, height, known, marked, ramp

from phasemark.model.mark_edits import Address
from phasemark.model.marks import BURST, Boundary, ChannelExclusion, Decision, Marks, Origin, Phase, Place, Rep
from phasemark.model.recording import Treatment, Up
from phasemark.model.settings import PhaseSettings, ThirdsRule
from phasemark.phases.movement import height_at
from phasemark.results.measure import measure_rep
from phasemark.results.segments import PAUSE, REP_WITH_PAUSE, REP_WITHOUT_PAUSE
from phasemark.session.boundary_move import levels_of, move, values_of_rep
from phasemark.session.figure_curves import MOST_BINS, positions_at
from phasemark.session.rep_figure import Measure, figure_of

SAYS = Decision("R1", "2026-01-01T00:00:00Z", "electrode came loose")


def test_every_value_is_the_measured_one() -> None:
    """Thirds, whole phases and the whole rep of each muscle equal measure_rep to the last bit."""
    trial, signals, settings = known()
    marks = marked(signals, settings)
    figure = figure_of(trial, marks, 1, signals, settings)
    measured = measure_rep(trial, marks.rep(1), marks.thirds_rule, signals.conditioned, settings)
    drawn = {}
    for channel, muscle in enumerate(figure.muscles):
        assert muscle.rep is not None
        drawn[channel, "rep", "whole"] = muscle.rep.amplitude
        for side in muscle.sides:
            drawn[channel, side.phase.name, "whole"] = side.whole.amplitude
            for name, reading in zip(side.phase.thirds, side.thirds, strict=True):
                drawn[channel, side.phase.name, name] = reading.amplitude
    also = {REP_WITHOUT_PAUSE, REP_WITH_PAUSE, PAUSE}
    assert drawn == {
        (v.channel, v.segment.phase, v.segment.third): v.amplitude for v in measured if v.segment.phase not in also
    }


def test_a_known_envelope_lies_at_its_height() -> None:
    """The envelope is a ramp over time, so each point says its own time, and its position is that of the trace then."""
    trial, signals, settings = known()
    figure = figure_of(trial, marked(signals, settings), 1, signals, settings)
    for muscle in figure.muscles:
        for side, (begin, end) in zip(muscle.sides, ((1, 4), (4, 7)), strict=True):
            curve = side.curve
            np.testing.assert_allclose(curve.envelope, curve.times / 100, atol=1e-12)
            np.testing.assert_allclose(curve.positions, height(curve.times), atol=0.004)
            assert begin - 1e-9 <= curve.times[0] < begin + 0.001
            assert end - 0.001 < curve.times[-1] <= end + 0.001
            assert (np.diff(curve.times) >= 0).all()
            at = curve.time_at(0.25)
            assert at == pytest.approx(3 if begin == 1 else 5, abs=0.01)  # cos is -0.5 at a third of a turn
            assert curve.envelope_at(at) == pytest.approx(at / 100, abs=1e-6)
            assert curve.time_at(2.0) is None


def test_thinning_keeps_peaks_and_boundaries() -> None:
    """A spike of one sample is there with its height, in under 300 points; thirds part at the third lines."""
    envelopes = [ramp(rate) for rate in RATES]
    envelopes[0][5003], envelopes[0][9001] = 0.9, -0.2
    trial, signals, settings = known(envelopes=envelopes)
    marks = marked(signals, settings)
    figure = figure_of(trial, marks, 1, signals, settings)
    down, up = figure.muscles[0].sides
    spike = int(np.argmax(down.curve.envelope))
    assert (down.curve.envelope[spike], down.curve.times[spike]) == (0.9, 5003 / 2000)
    assert down.curve.positions[spike] == pytest.approx(height(np.array([5003 / 2000]))[0], abs=0.004)
    assert up.curve.envelope.min() == -0.2
    assert figure.muscles[0].peak == 0.9
    for side, phase in zip((down, up), marks.rep(1).phases, strict=True):
        assert len(side.curve.envelope) <= 2 * MOST_BINS + 4 <= 300
        edges = [boundary.sample / 2000 for _, boundary in phase.boundaries()]
        assert [side.curve.times[edge] for edge in side.curve.edges] == pytest.approx(edges, abs=1e-9)


def test_a_gap_stays_a_gap() -> None:
    """Missing envelope breaks the curve where it is missing, and the samples around it are still drawn."""
    envelopes = [ramp(rate) for rate in RATES]
    envelopes[0][4000:6000] = np.nan
    trial, signals, settings = known(envelopes=envelopes)
    curve = figure_of(trial, marked(signals, settings), 1, signals, settings).muscles[0].sides[0].curve
    missing = curve.times[np.isnan(curve.envelope)]
    assert len(missing) > 20
    assert missing.min() >= 2.0
    assert missing.max() < 3.0
    there = curve.times[np.isfinite(curve.envelope)]
    assert not ((there >= 2.0) & (there < 3.0)).any()
    assert np.isnan(curve.envelope_at(2.5))


def test_positions_are_those_of_the_phases_room() -> None:
    """Positions between samples, beyond both ends, and beside a gap equal height_at at every place asked."""
    _, signals, _ = known()
    movement = signals.movement
    assert movement is not None
    position = movement.position.copy()
    position[200:230] = np.nan
    broken = replace(movement, position=position, height=position)
    places = np.array([-400, -15, 0, 1, 3993, 4000, 4007, 4300, 4599, 4601, 15999, 16005, 17000])
    expected = [height_at(broken, int(place)) for place in places]
    np.testing.assert_array_equal(positions_at(broken, places.astype(np.float64)), expected)


def test_raised_is_up_also_where_smaller_is_raised() -> None:
    trial, signals, settings = known(Up.SMALLER)
    marks = marked(signals, settings)
    figure = figure_of(trial, marks, 1, signals, settings)
    assert (figure.axis.name, figure.axis.unit) == ("depth", "cm")
    assert figure.axis.top == pytest.approx(0, abs=0.5)
    assert figure.axis.bottom == pytest.approx(100, abs=0.5)
    assert figure.levels == levels_of(marks, signals, settings)[1]
    lowering = figure.phases[0]
    assert lowering.thirds == ("upper", "middle", "lower")
    assert all(a.position < b.position for a, b in pairwise(lowering.edges))


def test_values_that_a_drag_moves_are_told_from_those_it_does_not() -> None:
    """Moving one third line changes the two thirds it parts and nothing else."""
    trial, signals, settings = known()
    marks = marked(signals, settings)
    before = values_of_rep(marks, 1, signals, settings)
    moved = move(marks, Address(1, 0, Place.FIRST_LINE), 4000, signals, settings)
    figure = figure_of(trial, moved, 1, signals, settings, before=before)
    for muscle in figure.muscles:
        lowering, raising = muscle.sides
        for measure in Measure:
            assert [reading.moved(measure) for reading in lowering.thirds] == [True, True, False]
            assert not any(reading.moved(measure) for reading in (*raising.thirds, lowering.whole, raising.whole))
    assert [edge.origin for edge in figure.phases[0].edges] == [Origin.AUTOMATIC, Origin.HAND, *(Origin.AUTOMATIC,) * 2]
    same = figure_of(trial, marks, 1, signals, settings)
    assert not any(r.moved(Measure.RMS) for m in same.muscles for s in m.sides for r in (*s.thirds, s.whole))


def test_a_third_never_entered_is_missing() -> None:
    trial, signals, settings = known()
    marks = marked(signals, settings)
    rep = marks.rep(1)
    skipped = replace(marks, reps=(replace(rep, phases=(by_hand(rep.phases[0], 2000), rep.phases[1])),))
    lowering = figure_of(trial, skipped, 1, signals, settings).muscles[0].sides[0]
    assert np.isnan(lowering.thirds[0].number(Measure.RMS))
    assert lowering.curve.edges[0] == lowering.curve.edges[1] == 0


def test_incomplete_excluded_and_doubtful_are_known() -> None:
    trial, signals, settings = known()
    marks = marked(signals, settings, phases=1)
    out = ChannelExclusion(EMG[1].muscle, EMG[1].side, SAYS)
    rep = replace(marks.rep(1), doubt=0.4, doubts=("ends in mid-movement",), excluded_channels=(out,))
    figure = figure_of(trial, replace(marks, reps=(rep,)), 1, signals, settings)
    assert (figure.number, figure.complete, figure.counted) == (None, False, False)
    assert figure.reason == "incomplete repetition"
    assert (figure.doubt, figure.doubts) == (0.4, ("ends in mid-movement",))
    assert [muscle.excluded for muscle in figure.muscles] == [None, "electrode came loose"]
    assert [len(muscle.sides) for muscle in figure.muscles] == [1, 1]
    assert all(muscle.rep is None for muscle in figure.muscles)
    whole = replace(rep, excluded=SAYS)
    assert figure_of(trial, replace(marks, reps=(whole,)), 1, signals, settings).excluded == "electrode came loose"


def test_a_burst_is_drawn_against_the_time_since_it_began() -> None:
    trial, signals, settings = known(movement=False)
    marks = Marks("R1", trial.length, (Rep(1, (Phase(BURST, Boundary(2000), Boundary(5000)),)),), 2)
    figure = figure_of(trial, marks, 1, signals, settings)
    assert figure.axis.of_time
    assert (figure.axis.top, figure.axis.bottom) == pytest.approx((0.0, 1.5), abs=0.001)
    assert figure.levels is None
    side = figure.muscles[0].sides[0]
    assert (side.phase.name, side.phase.thirds, side.thirds) == ("burst", (), ())
    np.testing.assert_allclose(side.curve.envelope, 0.01 + side.curve.positions / 100, atol=1e-9)


def test_thirds_of_time_have_no_levels() -> None:
    trial, signals, settings = known()
    timed = replace(settings, phases=PhaseSettings(thirds=ThirdsRule.TIME))
    marks = marked(signals, timed)
    for asked in (timed, settings):  # also where the settings have another rule by now than the marks
        figure = figure_of(trial, marks, 1, signals, asked)
        assert figure.levels is None
        assert [phase.thirds for phase in figure.phases] == [("first", "second", "last")] * 2


def test_a_trace_that_is_missing_through_the_rep_is_as_none() -> None:
    trial, signals, settings = known()
    marks, movement = marked(signals, settings), signals.movement
    assert movement is not None
    gone = np.full_like(movement.position, np.nan)
    without = replace(signals, movement=replace(movement, position=gone, height=gone))
    figure = figure_of(trial, marks, 1, without, settings)
    assert figure.axis.of_time
    assert figure.levels is None


def test_rectified_recordings_have_no_rms() -> None:
    trial, signals, settings = known()
    first = replace(signals.conditioned[0], treatment=Treatment.RECTIFIED)
    rectified = replace(signals, conditioned=(first, signals.conditioned[1]))
    muscle = figure_of(trial, marked(signals, settings), 1, rectified, settings).muscles[0]
    assert muscle.rectified
    assert np.isnan(muscle.sides[0].whole.number(Measure.RMS))
    assert muscle.sides[0].whole.number(Measure.MEAN_AMPLITUDE) > 0


def test_the_scale_holds_every_complete_rep_but_no_excluded_one() -> None:
    """The peak is the highest of all reps that stand, so that the scale stays the same from rep to rep."""
    envelopes = [np.full(len(ramp(rate)), 0.1) for rate in RATES]
    envelopes[0][3000], envelopes[0][9000], envelopes[0][13000] = 0.2, 0.3, 0.7
    trial, signals, settings = known(envelopes=envelopes)
    spans = ((2000, 6000), (8000, 10000), (12000, 14000))
    reps = tuple(Rep(k + 1, (Phase("raising", Boundary(a), Boundary(b)),)) for k, (a, b) in enumerate(spans))
    marks = Marks("R1", trial.length, (*reps[:2], replace(reps[2], excluded=SAYS)), 4)
    peaks = [figure_of(trial, marks, rep, signals, settings).muscles[0].peak for rep in (1, 2, 3)]
    assert peaks == [0.3, 0.3, 0.7]
