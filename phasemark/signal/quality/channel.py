"""All checks of one EMG channel."""

from phasemark.model.quality_settings import QualitySettings
from phasemark.model.recording import EmgChannel, Samples, Treatment
from phasemark.signal.conditioning import Conditioned
from phasemark.signal.quality.band import bandwidth, sampling_rate
from phasemark.signal.quality.finding import Finding
from phasemark.signal.quality.heart import ecg_contamination
from phasemark.signal.quality.inspected import Inspected, inspected
from phasemark.signal.quality.levels import clipping, distinct_values, lost_signal
from phasemark.signal.quality.line import line_interference
from phasemark.signal.quality.noise import signal_to_noise
from phasemark.signal.quality.slow import drift, low_frequency, movement_artefact, offset
from phasemark.signal.quality.treated import rectified, smoothed


def channel_findings(
    raw_mv: Samples,
    conditioned: Conditioned,
    channel: EmgChannel,
    settings: QualitySettings,
    noise_rms: float | None,
) -> tuple[Finding, ...]:
    """What every check finds in a channel, flagged or not.

    raw_mv: the channel in mV before offset and filters (signal.conditioning.in_millivolts), shape (samples,);
    conditioned: the same channel filtered; noise_rms: RMS (mV) of its baseline under the same filters where there is
    a quiet trial. A check that the channel gives no answer to is left out: one that holds no signal, is too short
    (most look at half seconds, the power line at a second), or is rectified or smoothed and so is no raw EMG.
    """
    about = inspected(raw_mv, conditioned, channel, settings)
    if len(about.values) < 2:
        return (lost_signal(about),)
    shape, smooth = rectified(about), smoothed(about)
    is_rectified = channel.treatment is Treatment.RECTIFIED or (shape is not None and shape.flagged)
    treated = is_rectified or (smooth is not None and smooth.flagged)
    values = (lost_signal(about), clipping(about, rectified=is_rectified), distinct_values(about))
    rest = () if treated else _raw_checks(about, noise_rms)
    return tuple(f for f in (*values, shape, smooth, *rest) if f is not None)


def _raw_checks(about: Inspected, noise_rms: float | None) -> tuple[Finding | None, ...]:
    return (
        sampling_rate(about),
        bandwidth(about),
        offset(about),
        drift(about),
        line_interference(about),
        low_frequency(about),
        movement_artefact(about),
        ecg_contamination(about),
        signal_to_noise(about, noise_rms),
    )
