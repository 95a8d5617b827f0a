"""Agreed figures and stored baselines."""
