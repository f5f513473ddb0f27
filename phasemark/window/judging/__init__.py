"""Judging signals and references: the page of quality checks, the page of references, and what a person decides."""
