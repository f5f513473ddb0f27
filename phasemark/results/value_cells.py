"""What a row says of one value: amplitude, noise, percent of the reference, errors, and what else is known."""

from dataclasses import dataclass
from math import isfinite, nan

from phasemark.model.clock import seconds
from phasemark.model.marks import LOWERING, RAISING
from phasemark.model.recording import Treatment
from phasemark.model.study import Study, Trial
from phasemark.results.csv_text import Cell
from phasemark.results.further import Further
from phasemark.results.measure import Value
from phasemark.results.referencing import Normaliser
from phasemark.results.segments import Segment
from phasemark.results.sensitivity import Sensitivity, short_segment_notes
from phasemark.signal.attempts import Attempt
from phasemark.signal.baseline import error_without_noise, without_noise
from phasemark.signal.kinematics import Motion
from phasemark.signal.normalise import percent_error, percent_of
from phasemark.signal.sampling_error import NOT_DETERMINED

Row = dict[str, Cell]

PERCENT_COLUMNS = (
    *("reference_rms_mV", "reference_mean_amplitude_mV", "rms_percent", "mean_amplitude_percent"),
    *("rms_percent_sampling_error", "mean_amplitude_percent_sampling_error"),
)
NOISE_COLUMNS = ("noise_rms_mV", "rms_less_noise_mV", "mean_amplitude_less_noise_mV")
ERROR_COLUMNS = (
    *("rms_sampling_error_mV", "mean_amplitude_sampling_error_mV", "bandwidth_hz", "independent_samples"),
    *("shift_ms", "rms_shift_mV", "mean_amplitude_shift_mV", "shift_note"),
)
FURTHER_COLUMNS = ("peak_envelope_mV", "peak_envelope_s", "integrated_mVs", "median_frequency_hz")
MOTION_COLUMNS = (
    *("duration_s", "prescribed_s", "range_of_motion", "mean_speed", "peak_speed", "peak_speed_s"),
    *("sticking_begin_s", "sticking_end_s", "movement_unit"),
)
VALUE_COLUMNS = (*PERCENT_COLUMNS, *NOISE_COLUMNS, *ERROR_COLUMNS, *FURTHER_COLUMNS, *MOTION_COLUMNS)


@dataclass(frozen=True, slots=True)
class Normalised:
    """RMS and mean amplitude of a segment in percent of the reference, with their sampling errors in points."""

    rms: float
    mean_amplitude: float
    rms_error: float
    mean_amplitude_error: float


def normalised(value: Value, normaliser: Normaliser | None, noise: Attempt | None, *, subtract: bool) -> Normalised:
    """A value in percent of its reference; noise is taken off both where subtract says so and it is known."""
    if normaliser is None:
        return Normalised(nan, nan, nan, nan)
    error = (value.further or Further(NOT_DETERMINED)).error
    rms, rms_error = value.amplitude.rms, error.rms
    mean, mean_error = value.amplitude.mean_amplitude, error.mean_amplitude
    if subtract and noise is not None:
        rms_error = error_without_noise(rms, rms_error, noise.rms, noise.error)
        mean_error = error_without_noise(mean, mean_error, noise.mean_amplitude, noise.mean_error)
        rms, mean = without_noise(rms, noise.rms), without_noise(mean, noise.mean_amplitude)
    percent, mean_percent = percent_of(rms, normaliser.rms), percent_of(mean, normaliser.mean_amplitude)
    return Normalised(
        percent,
        mean_percent,
        percent * percent_error(rms_error, normaliser.rms_error),
        mean_percent * percent_error(mean_error, normaliser.mean_amplitude_error),
    )


def value_cells(study: Study, trial: Trial, value: Value, normaliser: Normaliser | None, noise: Attempt | None) -> Row:
    """Amplitude of a segment in one channel, in mV and in percent, with its noise, errors and further values."""
    amplitude, further = value.amplitude, value.further or Further(NOT_DETERMINED)
    percent = normalised(value, normaliser, noise, subtract=study.settings.baseline.subtract)
    return {
        "rms_mV": amplitude.rms,
        "mean_amplitude_mV": amplitude.mean_amplitude,
        "valid_samples": amplitude.valid,
        "samples": amplitude.samples,
        "reference_rms_mV": nan if normaliser is None else normaliser.rms,
        "reference_mean_amplitude_mV": nan if normaliser is None else normaliser.mean_amplitude,
        "rms_percent": percent.rms,
        "mean_amplitude_percent": percent.mean_amplitude,
        "rms_percent_sampling_error": percent.rms_error,
        "mean_amplitude_percent_sampling_error": percent.mean_amplitude_error,
        "noise_rms_mV": nan if noise is None else noise.rms,
        "rms_less_noise_mV": nan if noise is None else without_noise(amplitude.rms, noise.rms),
        "mean_amplitude_less_noise_mV": nan
        if noise is None
        else without_noise(amplitude.mean_amplitude, noise.mean_amplitude),
        "rms_sampling_error_mV": amplitude.rms * further.error.rms,
        "mean_amplitude_sampling_error_mV": amplitude.mean_amplitude * further.error.mean_amplitude,
        "bandwidth_hz": further.error.bandwidth_hz,
        "independent_samples": further.error.independent_samples,
        "shift_ms": 1000 * study.settings.uncertainty.shift_s,
        "rms_shift_mV": further.rms_shift,
        "mean_amplitude_shift_mV": further.mean_amplitude_shift,
        "shift_note": str(further.why_not),
        "peak_envelope_mV": further.peak,
        "peak_envelope_s": further.peak_at_s,
        "integrated_mVs": integrated(trial, value),
        "median_frequency_hz": further.median_hz,
    }


def integrated(trial: Trial, value: Value) -> float:
    """Integrated EMG (mV s): the mean amplitude (average rectified value) times the length of its valid samples.

    It grows with the duration, so segments of different durations must not be compared by it.
    """
    rate = trial.emg[value.channel].rate
    return value.amplitude.mean_amplitude * float(value.amplitude.valid / rate)


def motion_cells(study: Study, trial: Trial, segment: Segment, motion: Motion | None) -> Row:
    """Duration of a segment, prescribed and achieved, and how the movement went in it."""
    moved = motion or Motion()
    exercise = study.exercise(trial.exercise)
    prescribed = {LOWERING: exercise.lowering_s, RAISING: exercise.raising_s} if segment.third == "whole" else {}
    return {
        "duration_s": seconds(sum(end - begin for begin, end in segment.pieces), trial.clock),
        "prescribed_s": prescribed.get(segment.phase),
        "range_of_motion": moved.range_of_motion,
        "mean_speed": moved.mean_speed,
        "peak_speed": moved.peak_speed,
        "peak_speed_s": moved.peak_speed_at_s,
        "sticking_begin_s": moved.sticking_begin_s,
        "sticking_end_s": moved.sticking_end_s,
        "movement_unit": trial.movement[0].unit if trial.movement else "",
    }


def value_notes(study: Study, trial: Trial, value: Value) -> tuple[str, ...]:
    """What a reader must know of a value, in sentences: why it is missing, or that it rests on little."""
    found, segment = value.amplitude, value.segment
    if segment.begin == segment.end:
        return ("never entered",)
    if found.samples == 0:
        return ("no samples",)
    if not isfinite(found.mean_amplitude):
        return ("under 90 % valid samples",)
    notes = ("already rectified: no RMS",) if trial.emg[value.channel].treatment is Treatment.RECTIFIED else ()
    if value.further is None:
        return notes
    further = value.further
    shifted = Sensitivity(
        value.rep, value.channel, segment, further.rms_shift, further.mean_amplitude_shift, further.why_not
    )
    return (*notes, *short_segment_notes(segment, trial.clock, study.settings, further.error, shifted))
