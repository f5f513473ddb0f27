"""Mauchly's test of sphericity and the corrections of degrees of freedom where it does not hold."""

from dataclasses import dataclass
from math import exp, log, nan

import numpy as np

from phasemark.statistics.distributions import chi2_p
from phasemark.statistics.values import Values


@dataclass(frozen=True, slots=True)
class Sphericity:
    """Sphericity of one within-subject effect.

    mauchly_w and mauchly_p are nan for effects of one degree of freedom (sphericity holds by itself) and where
    there are too few participants for it. huynh_feldt is raw: it can exceed 1, then 1 is used for the degrees
    of freedom; nan where there are too few participants.
    """

    mauchly_w: float
    mauchly_p: float
    greenhouse_geisser: float
    huynh_feldt: float


def _mauchly(covariance: Values, n: int) -> tuple[float, float]:
    """Mauchly's W and its p.

    W = det(S) / (tr(S) / d)^d (Mauchly 1940, Ann Math Stat 11:204-209: value from memory); p from two terms of
    Box's expansion in chi-squared (Anderson 1958, An Introduction to Multivariate Statistical Analysis, sect. 10.7:
    value from memory). Programs that take one term, or the number of levels for d in the second, differ in p.
    """
    d = len(covariance)
    sign, log_determinant = np.linalg.slogdet(covariance)
    if n - 1 < d or sign <= 0:
        return nan, nan
    log_w = min(0.0, float(log_determinant) - d * log(float(np.trace(covariance)) / d))
    df = d * (d + 1) / 2 - 1
    rho = 1 - (2 * d**2 + d + 2) / (6 * d * (n - 1))
    if rho <= 0:
        return exp(log_w), nan
    chi2 = -(n - 1) * rho * log_w
    second = (d + 2) * (d - 1) * (d - 2) * (2 * d**3 + 6 * d**2 + 3 * d + 2) / (288 * ((n - 1) * d * rho) ** 2)
    p = chi2_p(chi2, df) + second * (chi2_p(chi2, df + 4) - chi2_p(chi2, df))
    return exp(log_w), min(1.0, max(0.0, p))


def sphericity(contrasts: Values) -> Sphericity:
    """Sphericity from each participant's orthonormal contrasts of an effect, shape (participants, df), n >= 2.

    Greenhouse & Geisser (1959, Psychometrika 24:95-112): epsilon = tr(S)^2 / (d tr(S S)). Huynh & Feldt (1976, J
    Educ Stat 1:69-82): (n d epsilon - 2) / (d (n - 1 - d epsilon)). Sources of both: values from memory.
    """
    n, d = contrasts.shape
    if d == 1:
        return Sphericity(nan, nan, 1.0, 1.0)
    centred = contrasts - contrasts.mean(axis=0)
    largest = float(np.max(np.abs(centred)))
    if largest == 0:
        return Sphericity(nan, nan, nan, nan)
    centred = centred / largest  # epsilon and W have no unit
    covariance = centred.T @ centred / (n - 1)
    epsilon = float(np.trace(covariance) ** 2 / (d * np.sum(covariance**2)))
    epsilon = min(1.0, max(1 / d, epsilon))
    room = n - 1 - d * epsilon
    huynh_feldt = (n * d * epsilon - 2) / (d * room) if room > 1e-9 * n else nan
    return Sphericity(*_mauchly(covariance, n), epsilon, huynh_feldt)
