"""Spring, washers and stops for given targets."""
