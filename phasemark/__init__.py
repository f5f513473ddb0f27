"""Phasemark: surface EMG of exercises, cut into repetitions, phases and thirds, and measured."""

__version__ = "0.1.0"
