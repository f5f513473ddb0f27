"""Mean and SD over counted repetitions, per participant, condition, phase, third and muscle."""

from collections.abc import Iterable, Mapping, Sequence
from math import isfinite, isnan, nan
from statistics import fmean
from typing import Any, cast

import numpy as np

from phasemark.model.study import Kind
from phasemark.results.value_cells import Row
from phasemark.statistics.mean_and_sd import mean_and_sd

MEASURES = ("rms_mV", "mean_amplitude_mV", "rms_percent", "mean_amplitude_percent", "duration_s", "range_of_motion")
CONDITION = ("participant", "session", "exercise", "load")
PLACE = ("phase", "against_load", "third", "muscle", "side")


def summary_columns(factors: Mapping[str, str]) -> tuple[str, ...]:
    """Columns of a summary."""
    numbers = [f"{measure}_{what}" for measure in MEASURES for what in ("mean", "sd")]
    return (*CONDITION, *factors.values(), *PLACE, "n_trials", "n_reps", "n_excluded_reps", *numbers, "thirds_rule")


def summarise(rows: Iterable[Row], factors: Mapping[str, str]) -> list[Row]:
    """One row per participant, condition and segment of the task trials.

    The mean is taken over the counted reps of each trial and then over trials equally, so that a set with
    more repetitions has no more weight; the SD (n - 1) is that of all counted reps. n of both is given, and how
    many reps a person excluded; a row whose reps are all excluded stays, with n of 0.
    """
    by = (*CONDITION, *factors.values(), *PLACE, "thirds_rule")
    groups: dict[tuple[object, ...], list[Row]] = {}
    for row in rows:
        if row["kind"] == Kind.TASK:
            groups.setdefault(tuple(row.get(name) for name in by), []).append(row)
    summary = []
    for key, rows_of_all in groups.items():
        held = [row for row in rows_of_all if row["counted"]]
        found = cast(Row, dict(zip(by, key, strict=True)))
        present = _reps(row for row in held if any(_there(row[measure]) for measure in MEASURES))
        found["n_trials"] = len({trial for trial, _ in present})
        found["n_reps"] = len(present)
        found["n_excluded_reps"] = len(_reps(row for row in rows_of_all if row["excluded"] and row["complete"]))
        for measure in MEASURES:
            found |= _measured(held, measure)
        summary.append(found)
    return summary


def _reps(rows: Iterable[Row]) -> set[tuple[object, object]]:
    """The reps that rows belong to, each as its trial and id."""
    return {(row["trial"], row["rep_id"]) for row in rows}


def _there(value: object) -> bool:
    return isinstance(value, float) and isfinite(value)


def _measured(rows: Sequence[Row], measure: str) -> Row:
    per_trial: dict[object, list[float]] = {}
    for row in rows:
        if _there(row[measure]):
            per_trial.setdefault(row["trial"], []).append(cast(float, row[measure]))
    mean, spread = means_over_trials(per_trial) if per_trial else (nan, nan)
    return {
        f"{measure}_mean": None if isnan(mean) else mean,
        f"{measure}_sd": None if isnan(spread) else spread,
    }


def means_over_trials(per_trial: Mapping[Any, Sequence[float]]) -> tuple[float, float]:
    """Mean over the reps of each trial and then over trials equally, and SD (n - 1) of all reps (nan with under two).

    per_trial: the values of the counted reps of each trial, none of them empty or missing.
    """
    trials = [np.asarray(values) for values in per_trial.values()]
    return fmean(mean_and_sd(values)[0] for values in trials), mean_and_sd(np.concatenate(trials))[1]
