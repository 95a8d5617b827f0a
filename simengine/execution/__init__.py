"""Many independent pieces of work on threads, processes or a cluster: same numbers, kept as they come."""
