"""Figures of speed, run by hand: `python -m tests.bench`."""
