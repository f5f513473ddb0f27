"""A comparison recomputed under every variant of its analysis, and which of its findings stand in all of them."""
