"""Results: the catalogue of variables, the dataset, its file, and figures read from a record."""
