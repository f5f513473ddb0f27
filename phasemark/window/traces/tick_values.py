"""Tick values of an axis: the same for the traces and for the pictures of results, where the rule stands."""

from phasemark.results.figures.tick_values import (
    MINUS,
    Tick,
    decimals_of,
    multiples,
    nice_step,
    number_text,
    ticks,
)

__all__ = ["MINUS", "Tick", "decimals_of", "multiples", "nice_step", "number_text", "ticks"]
