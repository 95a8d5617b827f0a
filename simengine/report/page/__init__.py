"""One self-contained page of html from results of any kind."""
