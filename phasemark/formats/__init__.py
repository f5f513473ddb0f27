"""Recordings of open file formats: one module a format, each with sniff and read."""
