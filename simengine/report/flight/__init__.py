"""A flight."""
