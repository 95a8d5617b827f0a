"""Several machines on one flight."""
