"""Cross-country: fuel, time, saving and its uncertainty."""
