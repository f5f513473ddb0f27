"""Checks that look at the values themselves: lost signal, clipping, few distinct values."""

from math import sqrt

import numpy as np

from phasemark.model.recording import Samples
from phasemark.signal.gaps import Pieces, missing_pieces, runs
from phasemark.signal.quality.finding import Check, Finding
from phasemark.signal.quality.inspected import PERCENT, Inspected, merged

_VALUES_EACH = 8  # samples a distinct value must have had the chance of, before their number says anything


def level_pieces(x: Samples) -> Pieces:
    """Runs (begin, end) of two or more equal samples in a row, in order."""
    same = np.concatenate((x[1:] == x[:-1], [False]))  # missing samples equal nothing
    return tuple((begin, end + 1) for begin, end in runs(same))


def lost_signal(about: Inspected) -> Finding:
    """The longest stretch (ms) in which the channel stays at one value or is missing."""
    limit = about.settings.lost_ms
    stretches = merged((*level_pieces(about.raw), *missing_pieces(about.raw)))
    longest = max((about.ms(end - begin) for begin, end in stretches), default=0.0)
    places = tuple(p for p in stretches if about.ms(p[1] - p[0]) > limit)
    if not places:
        sentence = f"The signal is never missing or at one value for more than {limit:g} ms."
    elif len(about.values) < 2:
        sentence = "The channel holds no signal at all: it is missing or at one value throughout; leave it out."
    else:
        whole = sum(about.ms(end - begin) for begin, end in places)
        sentence = (
            f"The signal is missing or at one value for {whole:.0f} ms in all (longest {longest:.0f} ms): "
            "an electrode, cable or radio link lost contact; leave out the repetitions it falls into."
        )
    return Finding(Check.LOST, longest, "ms", limit, bool(places), sentence, places)


def _rail_runs(about: Inspected, rail: int) -> Pieces:
    """Long runs at the highest (-1) or lowest (0) value, where values pile up there as they do at a rail."""
    inner = -2 if rail else 1
    if about.counts[rail] <= about.counts[inner]:
        return ()
    least = about.settings.clipping_run_samples
    return tuple((b, e) for b, e in runs(about.raw == about.values[rail]) if e - b >= least)


def clipping(about: Inspected, *, rectified: bool) -> Finding | None:
    """Share of the valid samples in runs at the channel's highest or lowest value; the highest alone if rectified.

    One sample at an extreme is none: an unclipped signal has one too. A run counts only where the extreme itself is
    held more often than the value next to it, or the noise of a coarse channel would be runs at its few values.
    """
    if len(about.values) < 2:
        return None
    places = merged(_rail_runs(about, -1) + (() if rectified else _rail_runs(about, 0)))
    clipped, limit = sum(e - b for b, e in places), about.settings.clipping_share * PERCENT
    share = PERCENT * clipped / int(about.counts.sum())
    if places:
        sentence = (
            f"{share:.2g} % of the samples ({clipped} in {len(places)} runs) are held at the highest or lowest value: "
            "the peaks are cut off and the amplitude is too low; leave these stretches out or record with less gain."
        )
    else:
        sentence = "No peak is cut off at the channel's highest or lowest value."
    return Finding(Check.CLIPPING, share, "%", limit, share > limit, sentence, places)


def distinct_values(about: Inspected) -> Finding | None:
    """Number of distinct values; None where there are too few samples to tell.

    The step is the smallest distance of two values; its rounding adds noise of step / sqrt(12) RMS.
    """
    limit, found = about.settings.distinct_values, len(about.values)
    if found < 2 or about.counts.sum() < _VALUES_EACH * limit:
        return None
    steps = np.diff(about.values)
    step_uv = 1000 * float(steps[steps > 1e-9 * (about.values[-1] - about.values[0])].min())
    noise = f"steps of {step_uv:.3g} uV add noise of {step_uv / sqrt(12):.2g} uV RMS"
    if found < limit:
        sentence = f"The channel has only {found} distinct values: {noise}; small amplitudes in it are coarse."
    else:
        sentence = f"The channel has {found} distinct values: {noise}."
    return Finding(Check.DISTINCT, float(found), "values", float(limit), found < limit, sentence)
