"""A batch of hubs with build tolerances."""
