"""Check for the heart in the EMG of trunk muscles."""

from phasemark.model.clock import nearest_sample
from phasemark.signal.ecg import subtract_ecg
from phasemark.signal.heartbeats import LEAST_RATE_HZ
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.inspected import PERCENT, Inspected, merged

_HALF_BEAT_S = 0.05  # about a QRS complex, marked around each beat


def ecg_contamination(about: Inspected) -> Finding | None:
    """Share of the power above 5 Hz that template subtraction would take out; 0 where no regular heart is found.

    Beats and share are those of the remedy itself (signal.ecg.subtract_ecg); None at a rate that holds no heartbeat.
    """
    if about.rate < LEAST_RATE_HZ or about.rms <= 0:
        return None
    _, heart = subtract_ecg(about.raw, about.rate)
    share, limit = PERCENT * heart.share_of_power, PERCENT * about.settings.heart_share
    if heart.refused:
        return Finding(Check.HEART, 0.0, "%", limit, False, "No regular heartbeat is found in the signal.")
    what = f"{len(heart.beats)} heartbeats, {heart.per_minute:.0f} a minute, are {share:.2g} % of the power above 5 Hz"
    if share <= limit:
        return Finding(Check.HEART, share, "%", limit, False, f"{what}: little ECG contamination.")
    half = nearest_sample(_HALF_BEAT_S, about.rate)
    places = merged(tuple((max(0, at - half), min(len(about.raw), at + half + 1)) for at in heart.beats))
    sentence = f"{what}: ECG contamination; a high-pass at 30 Hz or the subtraction of the mean heartbeat lessens it."
    return Finding(Check.HEART, share, "%", limit, True, sentence, places)
