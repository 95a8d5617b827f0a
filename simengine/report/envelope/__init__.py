"""Where the shift finishes, hangs and stalls."""
