"""Power of the paired t test: participants needed for an effect, and the smallest effect that n can detect."""

from math import sqrt

from phasemark.model.errors import BadCall
from phasemark.statistics.distributions import noncentral_t_cdf, t_quantile
from phasemark.statistics.values import check_share

MOST_PARTICIPANTS = 1_000_000


def paired_power(d_z: float, n: int, *, alpha: float = 0.05) -> float:
    """Power of the two-sided paired t test at alpha for a true d_z with n participants.

    Probability of a noncentral t, noncentrality d_z sqrt(n) and df n - 1, outside the critical values (Cohen 1988,
    Statistical Power Analysis, ch. 2: value from memory). d_z is mean / SD of the differences, not d_av.

    Raises:
        BadCall: n is below 2, d_z is not a finite number, or alpha not between 0 and 1.
    """
    check_share(alpha, "error rate")
    if n < 2 or not abs(d_z) < 1e6:
        raise BadCall("Power needs at least 2 participants and a finite effect size.")
    critical, noncentrality = t_quantile(n - 1, 1 - alpha), abs(d_z) * sqrt(n)
    inside = noncentral_t_cdf(critical, n - 1, noncentrality) - noncentral_t_cdf(-critical, n - 1, noncentrality)
    return min(1.0, max(0.0, 1 - inside))


def participants_needed(d_z: float, *, power: float = 0.8, alpha: float = 0.05) -> int:
    """Fewest participants whose paired t test at alpha detects a true d_z with at least this power.

    Raises:
        BadCall: d_z is zero or so small that more than a million would be needed, or power or alpha are not
            between 0 and 1.
    """
    check_share(power, "power")
    low, high = 1, 2
    while paired_power(d_z, high, alpha=alpha) < power:
        low, high = high, 2 * high
        if high > MOST_PARTICIPANTS:
            raise BadCall(f"An effect of d_z {d_z:g} would need more than {MOST_PARTICIPANTS:,} participants.")
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if paired_power(d_z, middle, alpha=alpha) >= power else (middle, high)
    return high


def smallest_detectable(n: int, *, power: float = 0.8, alpha: float = 0.05) -> float:
    """Smallest true d_z that the paired t test of n participants at alpha detects with this power (sensitivity).

    Raises:
        BadCall: n is below 2, power is not between alpha and 1, or alpha not between 0 and 1.
    """
    from scipy.optimize import brentq

    check_share(power, "power")
    if power <= alpha:
        raise BadCall(f"A power of {power:g} is reached without any effect at an error rate of {alpha:g}.")
    high = 1.0
    while paired_power(high, n, alpha=alpha) < power:
        high *= 2
    return float(brentq(lambda d_z: paired_power(d_z, n, alpha=alpha) - power, 0.0, high, xtol=1e-12))
