"""Loads, stress, frequencies and failures."""
