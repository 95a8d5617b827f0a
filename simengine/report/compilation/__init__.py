"""Kernels compiled before they are needed, on every core at once."""
