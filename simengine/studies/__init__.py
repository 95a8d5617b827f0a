"""Questions the maker asks, one a file: a scenario goes in, a dataset comes out, nothing is drawn."""
