"""Looking from one place that moves: the same figures as a ranking, and their shapes on the map."""
