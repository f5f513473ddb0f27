"""Check for how far the muscle stands out of its baseline."""

from math import log10

import numpy as np

from phasemark.model.clock import nearest_sample
from phasemark.model.recording import Samples
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.inspected import Inspected
from phasemark.signal.quality.spectra import WINDOW_S

_STRONGEST = 0.95
_MOST_DB = 120.0  # beyond what any converter resolves; keeps the figure finite over a baseline of zeros


def half_second_rms(x: Samples, length: int) -> Samples:
    """RMS of windows of length samples, each half of it further on; windows with a missing sample left out."""
    step = max(1, length // 2)
    squares = np.concatenate(([0.0], np.cumsum(np.where(np.isfinite(x), x, 0.0) ** 2)))
    missing = np.concatenate(([0], np.cumsum(~np.isfinite(x))))
    begins = np.arange(0, max(0, len(x) - length + 1), step)
    begins = begins[missing[begins + length] == missing[begins]]
    return np.asarray(np.sqrt(np.maximum(squares[begins + length] - squares[begins], 0.0) / length))


def signal_to_noise(about: Inspected, noise_rms: float | None) -> Finding | None:
    """20 log10 (dB) of the strong half seconds' RMS (95th percentile, filtered) over the RMS of the baseline.

    noise_rms (mV) is that of a quiet trial under the same filters. Without one the quietest half second of the trial
    itself stands in for it; where that is above quiet_uv the muscle was never at rest and nothing is judged.
    """
    levels = half_second_rms(about.conditioned.values, max(1, nearest_sample(WINDOW_S, about.rate)))
    if not len(levels) or levels.max() <= 0:
        return None
    strong, quietest = float(np.quantile(levels, _STRONGEST)), float(levels.min())
    noise = quietest if noise_rms is None else noise_rms
    lowest = strong / 10 ** (_MOST_DB / 20)
    figure = 20 * log10(strong / max(noise, lowest))
    limit = about.settings.signal_to_noise_db
    beside = "the baseline of the quiet trial" if noise_rms is not None else "the quietest half second of the trial"
    what = f"The strongest half seconds ({1000 * strong:.3g} uV RMS) lie {figure:.1f} dB above {beside}"
    what += f" ({1000 * noise:.3g} uV)"
    if noise_rms is None and 1000 * quietest > about.settings.quiet_uv:
        sentence = f"{what}, which is itself too strong to be a baseline: not judged; add a quiet trial."
        return Finding(Check.NOISE, figure, "dB", limit, False, sentence)
    if figure < limit:
        sentence = f"{what}: the muscle is quiet, hardly above the baseline, and its amplitude is mostly noise."
        return Finding(Check.NOISE, figure, "dB", limit, True, sentence)
    return Finding(Check.NOISE, figure, "dB", limit, False, f"{what}.")
