"""Steady states: rotor speed, pitch on a given history, level flight and climb."""
