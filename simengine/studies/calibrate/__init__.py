"""The model fitted to readings, the test card, what to measure next."""
