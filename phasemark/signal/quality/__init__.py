"""Checks of signal quality: each finds a figure, holds it against a threshold, says a sentence and marks the places.

Nothing is changed or removed here: the researcher decides. What every check computes, its default and its source
stand in DEVELOPERS.md, 'Checks of signal quality'.
"""
