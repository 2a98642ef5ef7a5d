"""Timed words to observations."""
