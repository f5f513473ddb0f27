"""The study as a grid of participants by conditions, and the way to each trial."""
