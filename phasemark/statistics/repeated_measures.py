"""Within-subject analysis of variance with one, two or three factors, balanced and complete."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import isnan, nan

import numpy as np
from numpy.typing import ArrayLike

from phasemark.model.errors import BadCall, BadData
from phasemark.statistics.distributions import f_p
from phasemark.statistics.sphericity import Sphericity, sphericity
from phasemark.statistics.values import Values, complete, magnitude


@dataclass(frozen=True, slots=True)
class Effect:
    """One effect of a within-subject analysis; what cannot be computed is nan, and `missing` says why.

    factors: the factor's name, or those of an interaction. ss, ms: sums and means of squares; the error is the
    interaction of participants with this effect. p is uncorrected; p_greenhouse_geisser and p_huynh_feldt take both
    degrees of freedom times their epsilon (at most 1). eta_squared_partial = SS / (SS + SS error);
    eta_squared_generalised = SS / (SS + SS of participants + all errors).
    """

    factors: tuple[str, ...]
    ss: float
    df: int
    ms: float
    ss_error: float
    df_error: int
    ms_error: float
    f: float
    p: float
    eta_squared_partial: float
    eta_squared_generalised: float
    sphericity: Sphericity
    p_greenhouse_geisser: float
    p_huynh_feldt: float
    missing: str = ""


@dataclass(frozen=True, slots=True)
class WithinAnova:
    """A within-subject analysis: its effects (main effects first, then interactions), n, and SS of participants."""

    n: int
    effects: tuple[Effect, ...]
    ss_participants: float
    df_participants: int

    def effect(self, *factors: str) -> Effect:
        """The effect of these factors, in any order.

        Raises:
            BadCall: the analysis has no such effect.
        """
        for effect in self.effects:
            if set(effect.factors) == set(factors):
                return effect
        raise BadCall(f"The analysis has no effect of {' x '.join(factors)}.")


def _contrasts(levels: int) -> Values:
    """Orthonormal contrasts between levels (Helmert's), shape (levels, levels - 1)."""
    found = np.zeros((levels, levels - 1))
    for column in range(1, levels):
        found[:column, column - 1] = 1
        found[column, column - 1] = -column
        found[:, column - 1] /= np.sqrt(column * (column + 1))
    return found


def _scores(values: Values, of: tuple[int, ...]) -> Values:
    """Each participant's orthonormal contrasts of an effect, shape (participants, df of the effect)."""
    weights: Values = np.ones((1, 1))
    for axis, levels in enumerate(values.shape[1:]):
        each = _contrasts(levels) if axis in of else np.full((levels, 1), 1 / np.sqrt(levels))
        weights = np.asarray(np.kron(weights, each), dtype=np.float64)
    return np.asarray(values.reshape(len(values), -1) @ weights)


def _corrected_p(f: float, df: int, df_error: int, epsilon: float) -> float:
    if isnan(epsilon):
        return nan
    share = min(1.0, epsilon)
    return f_p(f, df * share, df_error * share)


def _effect(scores: Values, factors: tuple[str, ...], ss_all_errors: float, size: float) -> Effect:
    n, df = scores.shape
    df_error = df * (n - 1)
    means = scores.mean(axis=0)
    ss, ss_error = n * float(np.sum(means**2)), float(np.sum((scores - means) ** 2))
    # Contrasts of equal values are zero but for rounding.
    nothing = (size * 1e-14) ** 2 * n * df
    if ss_error <= nothing:
        missing = "all participants show exactly the same effect: there is no error to test against"
        if ss <= nothing:
            ss, missing = 0.0, "all values of this effect are equal"
        empty = Sphericity(nan, nan, nan, nan)
        return Effect(
            factors, ss, df, ss / df, 0.0, df_error, 0.0, nan, nan, nan, nan, empty, nan, nan, missing
        )  # fmt: skip
    f = (ss / df) / (ss_error / df_error)
    spherical = sphericity(scores)
    return Effect(
        factors,
        ss,
        df,
        ss / df,
        ss_error,
        df_error,
        ss_error / df_error,
        f,
        f_p(f, df, df_error),
        ss / (ss + ss_error),
        ss / (ss + ss_all_errors),
        spherical,
        _corrected_p(f, df, df_error, spherical.greenhouse_geisser),
        _corrected_p(f, df, df_error, spherical.huynh_feldt),
    )


def _checked(values: ArrayLike, factors: Sequence[str]) -> Values:
    if not 1 <= len(factors) <= 3 or len(set(factors)) < len(factors):
        raise BadCall("A within-subject analysis takes one, two or three factors, each with a name of its own.")
    found = complete(values, "the analysis", ("participant", *(f"level of {factor}" for factor in factors)))
    if len(found) < 2:
        raise BadData("A within-subject analysis needs at least 2 participants with all cells.")
    for factor, levels in zip(factors, found.shape[1:], strict=True):
        if levels < 2:
            raise BadData(f"The factor {factor} has one level only: there is nothing to compare.")
    return found


def within_anova(values: ArrayLike, factors: Sequence[str]) -> WithinAnova:
    """Repeated-measures analysis of variance of values of shape (participants, levels[, levels[, levels]]).

    Each effect is tested by its orthonormal contrasts: SS = n times the squared mean contrasts, SS error their
    squared deviations between participants, df error = df (n - 1) (Maxwell & Delaney 2004, Designing Experiments and
    Analyzing Data, 2nd ed., ch. 11-14). An effect of one degree of freedom has epsilon 1. Generalised eta squared, all
    factors manipulated: Olejnik & Algina 2003, Psychol Methods 8:434-447 (value from memory).

    Args:
        values: one value for each participant and cell.
        factors: names of the factors, in the order of the axes after the participants.

    Raises:
        BadData: a cell is missing (with its place), there are under 2 participants, or a factor has one level.
        BadCall: the number of factors is not that of the axes, not 1 to 3, or two have one name.
    """
    found = _checked(values, factors)
    n, axes = len(found), range(len(factors))
    size = magnitude(found)
    person = found.reshape(n, -1).mean(axis=1)
    ss_participants = float(np.sum((person - person.mean()) ** 2)) * found[0].size
    combined = [of for order in range(1, len(factors) + 1) for of in combinations(axes, order)]
    scores = {of: _scores(found, of) for of in combined}
    errors = sum(float(np.sum((each - each.mean(axis=0)) ** 2)) for each in scores.values())
    effects = tuple(
        _effect(scores[of], tuple(factors[axis] for axis in of), ss_participants + errors, size) for of in combined
    )
    return WithinAnova(n, effects, ss_participants, n - 1)
