"""Means and SDs against certified values and against pandas."""

import io
from dataclasses import replace
from decimal import Decimal
from math import isnan

import numpy as np
import pandas as pd
import pytest
from one_trial import WHY, marked, measured, noise, trial

from phasemark.model.mark_edits import exclude_rep
from phasemark.model.settings import CountedReps, CountRule, Settings
from phasemark.model.study import Kind, Load
from phasemark.results.csv_text import csv_text
from phasemark.results.rows import SEGMENT_COLUMNS, TRIAL_COLUMNS
from phasemark.results.summary import means_over_trials, summarise, summary_columns

# NIST Statistical Reference Datasets, univariate summary statistics: certified mean and standard deviation.
NUMACC = {
    "NumAcc1": ([10000001.0, 10000003.0, 10000002.0], 10000002.0, 1.0, 15),
    "NumAcc2": ([1.2, *[1.1, 1.3] * 500], 1.2, 0.1, 13),
    "NumAcc3": ([1000000.2, *[1000000.1, 1000000.3] * 500], 1000000.2, 0.1, 9),
    "NumAcc4": ([10000000.2, *[10000000.1, 10000000.3] * 500], 10000000.2, 0.1, 8),
}


@pytest.mark.parametrize("name", NUMACC)
def test_mean_and_sd_are_the_certified_ones(name: str) -> None:
    """As many digits of the SD as values so far from zero hold in 64 bits (NIST StRD)."""
    values, mean, sd, digits = NUMACC[name]
    found_mean, found_sd = means_over_trials({"the only trial": values})
    assert found_mean == pytest.approx(mean, rel=1e-14)
    assert found_sd == pytest.approx(sd, rel=10.0**-digits * 5)


def test_the_sd_of_one_rep_is_missing() -> None:
    mean, spread = means_over_trials({"T001": [2.5]})
    assert mean == 2.5
    assert isnan(spread)


def _by_pandas(segments: pd.DataFrame, keys: list[str]) -> pd.DataFrame:
    """Mean over trials of the means over counted reps; SD over all counted reps; n of both."""
    counted = segments[segments["counted"] == "yes"]
    groups = counted.groupby(keys, dropna=False)
    per_trial = counted.groupby([*keys, "trial"], dropna=False)[["rms_mV", "mean_amplitude_mV"]].mean()
    trials = per_trial.groupby(keys, dropna=False).mean()
    return pd.DataFrame(
        {
            "rms": trials["rms_mV"],
            "arv": trials["mean_amplitude_mV"],
            "sd": groups["rms_mV"].std(ddof=1),
            "trials": groups["trial"].nunique(),
            "reps": groups.size(),
        }
    )


@pytest.mark.parametrize(
    "counted", [CountedReps(), CountedReps(CountRule.INNER), CountedReps(CountRule.LISTED, (2, 3))]
)
@pytest.mark.parametrize("sets", [1, 3])
def test_summary_is_that_of_pandas(sets: int, counted: CountedReps) -> None:
    """One set, and three of different numbers of reps, one of them with an excluded rep, beside a second condition."""
    trials = [
        marked(
            trial(f"T{n}", values=noise(n), set=n, load=Load(Decimal(60), "kg"), factors=(("stance", "wide"),)), reps
        )
        for n, reps in zip(range(sets), (3, 2, 3), strict=False)
    ]
    trials[0] = trials[0].with_marks(exclude_rep(trials[0].marks[0], 1, WHY))
    trials.append(trial("T9", exercise="lunge"))
    trials.append(trial("T8", kind=Kind.WARM_UP))
    rows = measured(*trials, settings=Settings(counted=counted)).rows
    factors = {"stance": "stance"}
    texts = (
        csv_text((*TRIAL_COLUMNS, *SEGMENT_COLUMNS, "stance"), rows),
        csv_text(summary_columns(factors), summarise(rows, factors)),
    )
    segments, summary = (pd.read_csv(io.StringIO(text)) for text in texts)
    keys = ["participant", "session", "exercise", "load", "stance", "phase", "third", "muscle", "side"]
    expected = _by_pandas(segments, keys)
    found = summary[summary["n_reps"] > 0].set_index(keys)
    assert len(found) == len(expected) == 2 * 11 * 2
    assert not found.index.duplicated().any()
    both = found.join(expected)
    for name, other in [("rms_mV_mean", "rms"), ("rms_mV_sd", "sd"), ("mean_amplitude_mV_mean", "arv")]:
        np.testing.assert_allclose(both[name], both[other], rtol=1e-13, equal_nan=True)
    assert (both["n_trials"] == both["trials"]).all()
    assert (both["n_reps"] == both["reps"]).all()
    assert set(found[found.index.get_level_values("exercise") == "squat"]["n_excluded_reps"]) == {1}


def test_a_condition_whose_reps_are_all_excluded_stays_with_an_n_of_zero() -> None:
    one = replace(trial(), excluded=WHY)
    summary = summarise(measured(one).rows, {})
    assert len(summary) == 11 * 2
    assert {(row["n_trials"], row["n_reps"], row["n_excluded_reps"], row["rms_mV_mean"]) for row in summary} == {
        (0, 0, 3, None)
    }
