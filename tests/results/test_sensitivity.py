"""Sensitivity of segments to their boundaries, against moved marks that are measured by the usual way."""

from dataclasses import replace
from fractions import Fraction
from math import isnan

import numpy as np
import pytest
from one_trial import EMG, noise, phase
from one_trial import trial as a_trial

from phasemark.model.mark_edits import add_rep
from phasemark.model.marks import LOWERING, RAISING, Boundary, Marks, Phase, Rep
from phasemark.model.recording import Treatment
from phasemark.model.settings import EnvelopeKind, EnvelopeSettings, Settings, UncertaintySettings
from phasemark.model.study import Trial
from phasemark.results.measure import condition_trial, measure_rep, measure_segment
from phasemark.results.segments import Segment
from phasemark.results.sensitivity import Sensitivity, Undetermined, sensitivities, short_segment_notes
from phasemark.signal.block_sums import block_sums
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.sampling_error import SamplingError

SETTINGS = Settings()
APART = replace(SETTINGS, pause_in_rep=False)
SHIFT = 100  # 50 ms at 2 kHz


def growing(trial: Trial, settings: Settings = SETTINGS) -> tuple[Conditioned, ...]:
    """Channels whose amplitude grows over the trial, so that every boundary matters."""
    values = [v * np.linspace(0.2, 2.0, len(v)) for v in noise()]
    return condition_trial(trial, values, settings)


def with_rep(*phases: Phase, complete: bool = True) -> tuple[Trial, Rep]:
    trial = a_trial()
    trial = trial.with_marks(add_rep(Marks("R1", trial.length), phases, complete=complete))
    return trial, trial.marks_of("R1").reps[0]


def of(
    trial: Trial, rep: Rep, settings: Settings = SETTINGS, conditioned: tuple[Conditioned, ...] = ()
) -> tuple[Sensitivity, ...]:
    return sensitivities(trial, rep, "rep", conditioned or growing(trial), settings)


def moved(segment: Segment, edge: int, by: int) -> Segment:
    pieces = tuple((b + by * (b == edge), e + by * (e == edge)) for b, e in segment.pieces)
    return replace(segment, pieces=pieces)


@pytest.mark.parametrize("settings", [SETTINGS, APART], ids=["with pause", "without pause"])
def test_each_is_the_largest_change_over_all_moves_measured_one_by_one(settings: Settings) -> None:
    trial, rep = with_rep(phase(LOWERING, 2001, 4001), phase(RAISING, 4501, 6001))
    conditioned = growing(trial)
    values = measure_rep(trial, rep, "rep", conditioned, settings)
    found = of(trial, rep, settings)
    assert [(s.rep, s.channel, s.segment) for s in found] == [(v.rep, v.channel, v.segment) for v in values]
    for sensitivity, value in zip(found, values, strict=True):
        edges = {edge for piece in value.segment.pieces for edge in piece}
        others = [
            measure_segment(trial, moved(value.segment, edge, by), conditioned)[value.channel]
            for edge in edges
            for by in (-SHIFT, SHIFT)
        ]
        assert sensitivity.why_not is Undetermined.NOT
        assert sensitivity.rms == pytest.approx(max(abs(o.rms - value.amplitude.rms) for o in others), rel=1e-9)
        means = [abs(o.mean_amplitude - value.amplitude.mean_amplitude) for o in others]
        assert sensitivity.mean_amplitude == pytest.approx(max(means), rel=1e-9)


def test_a_segment_of_constant_amplitude_hangs_on_no_boundary() -> None:
    trial, rep = with_rep(phase(LOWERING, 2000, 4000), phase(RAISING, 4400, 6000))
    signs = [np.where(np.arange(len(v)) % 2, 0.3, -0.3) for v in noise()]
    flat = tuple(Conditioned(v, c.rate, block_sums(v), Treatment.RAW) for v, c in zip(signs, EMG, strict=True))
    assert all(max(s.rms, s.mean_amplitude) < 1e-14 for s in of(trial, rep, conditioned=flat))


def test_a_shared_boundary_of_two_phases_is_one() -> None:
    """Without a pause the two pieces of a rep meet: moving where they meet changes nothing of the whole."""
    trial, rep = with_rep(phase(LOWERING, 2000, 4000), phase(RAISING, 4000, 6000))
    found = [s for s in of(trial, rep) if s.channel == 0]
    joined = next(s for s in found if s.segment.pieces == ((2000, 6000),))
    apart = next(s for s in found if s.segment.pieces == ((2000, 4000), (4000, 6000)))
    assert (apart.rms, apart.mean_amplitude) == pytest.approx((joined.rms, joined.mean_amplitude), rel=1e-12)


def test_a_pause_shorter_than_the_shift_is_not_counted_twice() -> None:
    """The end of the first phase moves over the begin of the second: those samples count once."""
    trial, rep = with_rep(phase(LOWERING, 2000, 4000), phase(RAISING, 4020, 6000))
    values = list(noise())
    values[0][4000:4120] *= 20  # so that the largest change is that of an inner boundary, and a second count would show
    conditioned = condition_trial(trial, values, SETTINGS)
    whole = next(s for s in of(trial, rep, conditioned=conditioned) if len(s.segment.pieces) == 2)
    marked = measure_segment(trial, whole.segment, conditioned)[0].rms
    candidates = []
    for pieces in (
        ((1900, 4000), (4020, 6000)), ((2100, 4000), (4020, 6000)), ((2000, 3900), (4020, 6000)), ((2000, 6000),),
        ((2000, 4000), (4120, 6000)), ((2000, 4000), (4020, 5900)), ((2000, 4000), (4020, 6100)),
    ):  # fmt: skip
        other = measure_segment(trial, replace(whole.segment, pieces=pieces), conditioned)[0].rms
        candidates.append(abs(other - marked))
    assert whole.rms == pytest.approx(max(candidates), rel=1e-9)


@pytest.mark.parametrize(("third", "determined"), [(139, False), (140, True)])
def test_a_third_left_with_under_20_ms_is_not_determined(third: int, determined: bool) -> None:
    """40 samples at 2 kHz are 20 ms; a shift takes 100."""
    trial, rep = with_rep(phase(LOWERING, 2000, 4000, lines=(2000 + third, 3000)))
    first, second = of(trial, rep)[0], of(trial, rep)[2]
    assert (first.why_not is Undetermined.NOT) is determined
    assert isnan(first.rms) is not determined
    assert second.why_not is Undetermined.NOT
    if not determined:
        assert first.why_not is Undetermined.SHORT


def test_a_third_never_entered_is_not_determined() -> None:
    trial, rep = with_rep(phase(LOWERING, 2000, 4000, lines=(2000, 3000)))
    assert of(trial, rep)[0].why_not is Undetermined.SHORT


@pytest.mark.parametrize(("begin", "outside"), [(99, True), (100, False)])
def test_a_shift_to_before_the_recording_is_not_determined(begin: int, outside: bool) -> None:
    """The first third and all that begins with it; not the other thirds."""
    trial, rep = with_rep(phase(LOWERING, begin, 3000))
    found = [s.why_not is Undetermined.OUTSIDE for s in of(trial, rep) if s.channel == 0]
    assert found == [outside, False, False, outside]


@pytest.mark.parametrize(("end", "outside"), [(27901, True), (27900, False)])
def test_a_shift_past_the_recording_is_not_determined(end: int, outside: bool) -> None:
    """The last third and the whole of a phase that ends with the recording's 28000 samples."""
    trial, rep = with_rep(phase(LOWERING, 25000, end))
    found = [s.why_not is Undetermined.OUTSIDE for s in of(trial, rep) if s.channel == 0]
    assert found == [False, False, outside, outside]


def test_a_channel_that_ends_early_is_not_determined_where_it_ends() -> None:
    """The second channel ends at 13.5 s; the first one goes on."""
    trial, rep = with_rep(phase(LOWERING, 20000, 26950))
    last = of(trial, rep)[-2:]
    assert [s.why_not for s in last] == [Undetermined.NOT, Undetermined.OUTSIDE]


def test_missing_samples_that_a_shift_meets_leave_it_not_determined() -> None:
    trial, rep = with_rep(phase(LOWERING, 2000, 5000, lines=(2500, 3500)))
    values = list(noise())
    values[0][2560:2600] = np.nan  # 6 % of 2500 to 3000, so a line moved to there, but under 10 % of all segments
    values[0][2500:2560] = np.nan
    conditioned = condition_trial(trial, values, SETTINGS)
    found = [s for s in of(trial, rep, conditioned=conditioned) if s.channel == 0]
    assert found[0].why_not is Undetermined.MISSING
    assert found[2].why_not is Undetermined.NOT


def test_a_rectified_channel_has_the_sensitivity_of_its_mean_amplitude() -> None:
    trial, rep = with_rep(phase(LOWERING, 2000, 5000))
    rectified = tuple(replace(c, treatment=Treatment.RECTIFIED) for c in growing(trial))
    found = of(trial, rep, conditioned=rectified)[0]
    assert isnan(found.rms)
    assert found.mean_amplitude > 0
    assert found.why_not is Undetermined.NOT


def test_a_larger_shift_changes_more() -> None:
    trial, rep = with_rep(phase(LOWERING, 2000, 8000))
    wide = replace(SETTINGS, uncertainty=UncertaintySettings(0.2))
    assert all(w.rms > n.rms for w, n in zip(of(trial, rep, wide), of(trial, rep), strict=True))


def notes(length: int, independent: float, why_not: Undetermined, settings: Settings = SETTINGS) -> tuple[str, ...]:
    segment = Segment(LOWERING, "upper", ((1000, 1000 + length),))
    error = SamplingError(0.2, 0.21, 100.0, independent)
    sensitivity = Sensitivity(1, 0, segment, 0.1, 0.1, why_not)
    return short_segment_notes(segment, Fraction(2000), settings, error, sensitivity)


def test_a_short_segment_says_what_it_lacks_and_a_long_one_nothing() -> None:
    assert notes(200, 10.0, Undetermined.NOT) == ()
    assert notes(199, 10.0, Undetermined.NOT) == ("Shorter than what the envelope averages over (100 ms).",)
    assert notes(200, 9.4, Undetermined.NOT) == ("Holds only about 9 independent samples.",)
    assert notes(200, float("nan"), Undetermined.SHORT) == ("Left with under 20 ms when a boundary moves by 50 ms.",)


def test_a_low_passed_envelope_averages_over_a_period_of_its_cut_off() -> None:
    low = replace(SETTINGS, envelope=EnvelopeSettings(EnvelopeKind.LOW_PASS, lowpass_hz=5.0))
    assert notes(399, 50.0, Undetermined.NOT, low) == ("Shorter than what the envelope averages over (200 ms).",)
    assert notes(400, 50.0, Undetermined.NOT, low) == ()


def test_boundaries_that_coincide_still_part_two_segments() -> None:
    """A third of no length between two others: these move as any."""
    one = Phase(LOWERING, Boundary(2000), Boundary(4000), (Boundary(3000), Boundary(3000)))
    trial, rep = with_rep(one)
    found = [s.why_not for s in of(trial, rep) if s.channel == 0]
    assert found == [Undetermined.NOT, Undetermined.SHORT, Undetermined.NOT, Undetermined.NOT]
