"""Values of segments against plain scipy, and when they are stale."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import ceil, pi, sqrt, tan
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from one_trial import EMG, SECONDS, WHY, marked, measured, noise, phase, trial
from scipy.signal import butter, sosfiltfilt

from phasemark.formats import read_recording
from phasemark.formats.mapping_json import parse_mapping
from phasemark.model.clock import Alignment
from phasemark.model.mark_edits import Address, add_rep, check_rep, delete_rep, exclude_rep, move_boundary, with_rep
from phasemark.model.marks import LOWERING, RAISING, ChannelExclusion, Marks, Place
from phasemark.model.recording import Side, Treatment
from phasemark.model.settings import (
    CountedReps,
    CountRule,
    EnvelopeSettings,
    FilterSettings,
    MuscleFilter,
    PhaseSettings,
    Settings,
    UncertaintySettings,
)
from phasemark.model.study import Load, RecordingRef, Trial
from phasemark.results.measure import condition_trial, measure_trial, results_key
from phasemark.results.segments import REP_WITHOUT_PAUSE
from phasemark.results.table import VALUES, from_tables, to_tables


def band_passed(raw: NDArray[np.float64], rate: float, low: float = 20, high: float = 450) -> NDArray[np.float64]:
    """Each filter twice second order; -3 dB of the double pass at the cut-off, corrected in the pre-warped domain."""
    shift = (sqrt(2) - 1) ** 0.25
    values = raw - raw.mean()
    for kind, cutoff, factor in (("highpass", low, shift), ("lowpass", high, 1 / shift)):
        warped = np.arctan(tan(pi * cutoff / rate) * factor) / pi * 2
        values = sosfiltfilt(butter(2, warped, kind, output="sos"), values)
    return values


def test_values_at_mixed_rates_are_those_of_plain_scipy() -> None:
    """EMG at 2000 and 1500 Hz: the samples with t0 <= t < t1 of each channel, filtered, squared, averaged."""
    values = noise()
    one = trial(values=values)
    filtered = [band_passed(v, float(c.rate)) for v, c in zip(values, EMG, strict=True)]
    found = measured(one).results["T001"].values
    # Reps of two phases in three thirds and a whole, the pause, and the whole rep with and without it.
    assert len(found) == 3 * 11 * 2 + 4 * 2
    for value in found:
        assert len(value.segment.pieces) == (2 if value.segment.phase == REP_WITHOUT_PAUSE else 1)
        if len(value.segment.pieces) == 2:
            continue
        rate = EMG[value.channel].rate
        first, last = (ceil(Fraction(b, 2000) * rate) for b in value.segment.pieces[0])
        piece = filtered[value.channel][first:last]
        assert value.amplitude.samples == last - first
        assert value.amplitude.rms == pytest.approx(np.sqrt(np.mean(piece**2)), rel=1e-10)
        assert value.amplitude.mean_amplitude == pytest.approx(np.mean(np.abs(piece)), rel=1e-10)


def test_whole_rep_without_its_pause_is_measured_from_both_phases_as_one() -> None:
    """Two pieces, taken together by their samples and not by their means."""
    one = trial()
    filtered = band_passed(noise()[0], 2000)
    found = measured(one, settings=Settings(pause_in_rep=False)).results["T001"].values
    whole = next(v for v in found if v.segment.phase == "rep" and v.channel == 0)
    assert whole.segment.pieces == ((2001, 3508), (4000, 5608))
    both = np.concatenate([filtered[a:b] for a, b in whole.segment.pieces])
    assert whole.amplitude.rms == pytest.approx(np.sqrt(np.mean(both**2)), rel=1e-10)
    assert (whole.segment.begin, whole.segment.end) == (2001, 5608)


def test_real_trial_is_measured_as_plain_scipy_does(open_data: Path) -> None:
    """A knee extension read from its text file, segments laid over it by hand.

    'EMG Dataset in Lower Limb', Sanchez O, Sotelo J (2014), UCI Machine Learning Repository, doi 10.24432/C5ZW3P.
    """
    muscles = ("rectus femoris", "biceps femoris", "vastus medialis", "semitendinosus")
    mapping = {
        "version": 1,
        "rate_hz": 1000,
        "emg": [{"column": n, "muscle": m, "unit": "mV"} for n, m in enumerate(muscles, 1)],
        "movement": {"column": 5, "kind": "knee angle", "unit": "deg", "up": "smaller"},
        "time": None,
    }
    recording = read_recording(open_data / "knee_emg" / "5Asen.txt", parse_mapping(mapping))
    lengths = tuple(len(v) for v in recording.emg_values)
    ref = RecordingRef("R0001", "recordings/R0001.h5", 1, "0" * 64, lengths, lengths[:1])
    one = Trial("T001", "5A", ref, recording.emg, recording.movement, exercise="knee extension")
    marks = add_rep(Marks("R1", one.length), (phase(RAISING, 359, 1572), phase(LOWERING, 2924, 4151)))
    results = measure_trial(one, marks, condition_trial(one, recording.emg_values, Settings()), Settings())
    assert len(results.values) == 11 * 4
    for value in results.values:
        filtered = band_passed(recording.emg_values[value.channel], 1000)
        piece = np.concatenate([filtered[begin:end] for begin, end in value.segment.pieces])
        assert value.amplitude.rms == pytest.approx(np.sqrt(np.mean(piece**2)), rel=1e-10)
        assert value.amplitude.mean_amplitude == pytest.approx(np.mean(np.abs(piece)), rel=1e-10)


def test_already_rectified_channel_has_mean_amplitude_and_no_rms() -> None:
    """It is neither band-passed nor squared: its mean amplitude is the plain mean of its values."""
    channel = replace(EMG[0], treatment=Treatment.RECTIFIED)
    values = np.abs(noise()[0])
    one = trial(emg=(channel,), recording=replace(trial().recording, emg_samples=(len(values),)))
    results = measure_trial(one, one.marks_of("R1"), condition_trial(one, (values,), Settings()), Settings())
    for value in results.values:
        piece = np.concatenate([values[begin:end] for begin, end in value.segment.pieces])
        assert np.isnan(value.amplitude.rms)
        assert value.amplitude.mean_amplitude == pytest.approx(piece.mean(), rel=1e-12)


def test_third_never_entered_and_segment_past_the_end_have_no_value() -> None:
    """Empty where two lines coincide; missing where under 90 % of the samples are there."""
    one = trial()
    late = 2000 * SECONDS - 1500  # the second channel ends 1000 clock samples before the recording does
    marks = add_rep(Marks("R1", one.length), (phase(LOWERING, 2001, 4001, lines=(2601, 2601)),), complete=False)
    marks = add_rep(marks, (phase(RAISING, late, late + 1500),), complete=False)
    results = measure_trial(one, marks, condition_trial(one, noise(), Settings()), Settings())
    by = {(v.rep, v.channel, v.segment.third): v.amplitude for v in results.values}
    assert by[1, 0, "middle"].samples == 0
    assert np.isnan(by[1, 0, "middle"].rms)
    assert by[1, 0, "upper"].rms > 0
    assert by[2, 0, "upper"].valid == 500
    assert by[2, 1, "upper"].valid == 0
    assert np.isnan(by[2, 1, "upper"].mean_amplitude)


# What results depend on, and what they do not.

RELEVANT: dict[str, Callable[[Trial, Settings], tuple[Trial, Settings]]] = {
    "high-pass": lambda t, s: (t, replace(s, filter=FilterSettings(highpass_hz=30.0))),
    "low-pass": lambda t, s: (t, replace(s, filter=FilterSettings(lowpass_hz=None))),
    "order": lambda t, s: (t, replace(s, filter=FilterSettings(order=2))),
    "offset": lambda t, s: (t, replace(s, filter=FilterSettings(remove_offset=False))),
    "filter of a muscle": lambda t, s: (
        t,
        replace(s, muscle_filters=(MuscleFilter("rectus femoris", FilterSettings(highpass_hz=30.0)),)),
    ),
    "pause": lambda t, s: (t, replace(s, pause_in_rep=False)),
    "recording": lambda t, s: (replace(t, recording=replace(t.recording, sha256="1" * 64)), s),
    "gain": lambda t, s: (replace(t, emg=(replace(EMG[0], gain=2.0), EMG[1])), s),
    "unit": lambda t, s: (replace(t, emg=(replace(EMG[0], unit="uV"), EMG[1])), s),
    "treatment": lambda t, s: (replace(t, emg=(replace(EMG[0], treatment=Treatment.RECTIFIED), EMG[1])), s),
    "envelope": lambda t, s: (t, replace(s, envelope=EnvelopeSettings(window_s=0.2))),
    "shift of boundaries": lambda t, s: (t, replace(s, uncertainty=UncertaintySettings(0.02))),
    "filter of the movement": lambda t, s: (t, replace(s, phases=PhaseSettings(movement_lowpass_hz=8.0))),
    "alignment of the movement": lambda t, s: (
        replace(t, movement=(replace(t.movement[0], alignment=Alignment(Fraction(-1, 100))),)),
        s,
    ),
    "deleted rep": lambda t, s: (t.with_marks(delete_rep(t.marks[0], 2)), s),
    "thirds rule": lambda t, s: (t.with_marks(replace(t.marks[0], thirds_rule="time")), s),
    "lines": lambda t, s: (_with_first_phase(t, lines=None), s),
    "name of a phase": lambda t, s: (_with_first_phase(t, name=RAISING), s),
}
IRRELEVANT: dict[str, Callable[[Trial, Settings], tuple[Trial, Settings]]] = {
    "rules of phases": lambda t, s: (t, replace(s, phases=PhaseSettings(prominence=0.2))),
    "counted": lambda t, s: (t, replace(s, counted=CountedReps(CountRule.INNER))),
    "filter of a muscle not there": lambda t, s: (
        t,
        replace(s, muscle_filters=(MuscleFilter("soleus", FilterSettings(highpass_hz=30.0)),)),
    ),
    "filter of a muscle the same": lambda t, s: (
        t,
        replace(s, muscle_filters=(MuscleFilter("rectus femoris", FilterSettings()),)),
    ),
    "checked": lambda t, s: (t.with_marks(check_rep(t.marks[0], 1, WHY)), s),
    "excluded rep": lambda t, s: (t.with_marks(exclude_rep(t.marks[0], 1, WHY)), s),
    "excluded channel in a rep": lambda t, s: (
        t.with_marks(
            with_rep(
                t.marks[0],
                replace(t.marks[0].rep(1), excluded_channels=(ChannelExclusion("rectus femoris", Side.NONE, WHY),)),
            )
        ),
        s,
    ),
    "excluded trial": lambda t, s: (replace(t, excluded=WHY), s),
    "doubt": lambda t, s: (
        t.with_marks(with_rep(t.marks[0], replace(t.marks[0].rep(1), doubt=0.7, doubts=("short",)))),
        s,
    ),
    "load": lambda t, s: (replace(t, load=Load(Decimal(60), "kg")), s),
    "factor": lambda t, s: (replace(t, factors=(("stance", "wide"),)), s),
    "participant": lambda t, s: (replace(t, participant="P02"), s),
    "other rater": lambda t, s: (marked(t, rater="R2", late=3), s),
}


def _with_first_phase(t: Trial, **facts: object) -> Trial:
    rep = t.marks[0].rep(1)
    first = replace(rep.phases[0], **facts)  # type: ignore[arg-type]
    return t.with_marks(with_rep(t.marks[0], replace(rep, phases=(first, rep.phases[1]))))


def _key(t: Trial, s: Settings) -> str:
    return results_key(t, t.marks_of("R1"), s)


@pytest.mark.parametrize("what", RELEVANT)
def test_results_are_stale_after_what_changes_them(what: str) -> None:
    before = trial()
    assert _key(*RELEVANT[what](before, Settings())) != _key(before, Settings())


@pytest.mark.parametrize("what", IRRELEVANT)
def test_results_stay_current_after_what_does_not_change_them(what: str) -> None:
    before = trial()
    assert _key(*IRRELEVANT[what](before, Settings())) == _key(before, Settings())


@given(
    rep=st.integers(1, 4),
    which=st.integers(0, 1),
    place=st.sampled_from(list(Place)),
    by=st.integers(-400, 400),
)
def test_results_are_stale_exactly_when_a_boundary_has_moved(rep: int, which: int, place: Place, by: int) -> None:
    """Any boundary by any distance; one that did not move after all leaves them current."""
    before = trial()
    marks = before.marks[0]
    address = Address(rep, which if rep < 4 else 0, place)
    here = marks.rep(rep).phases[address.phase].at(place).sample
    moved = before.with_marks(move_boundary(marks, address, here + by))
    samples = [[b.sample for p in r.phases for _, b in p.boundaries()] for r in moved.marks[0].reps]
    same = samples == [[b.sample for p in r.phases for _, b in p.boundaries()] for r in marks.reps]
    assert (_key(moved, Settings()) == _key(before, Settings())) == same


def test_results_come_back_from_columns_as_they_were() -> None:
    """To columns and back: pieces, missing values and all, of several trials and settings."""
    with_pause, without = (
        measured(trial("T001"), trial("T002")),
        measured(trial("T003"), settings=Settings(pause_in_rep=False)),
    )
    results = [*with_pause.results.values(), *without.results.values()]
    keys = {(found.trial, found.rater): found.key for found in results}
    back = from_tables(keys, to_tables(results))
    assert list(back) == list(keys)
    for found in results:
        assert repr(back[found.trial, found.rater]) == repr(found)  # nan is not equal to itself, its text is
    assert from_tables({("T009", "R1"): "key"}, to_tables([]))["T009", "R1"].values == ()


def test_columns_that_lack_one_are_refused() -> None:
    tables = to_tables(measured(trial()).results.values())
    del tables[VALUES]["pause_end"]
    with pytest.raises(ValueError, match="lack pause_end; measure it again"):
        from_tables({("T001", "R1"): "key"}, tables)
