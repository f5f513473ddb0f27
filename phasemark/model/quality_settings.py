"""Thresholds of the checks of signal quality; what each check computes stands in signal/quality."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class QualitySettings:
    """Thresholds, each in the unit that its name ends with."""

    line_hz: float = 50.0
