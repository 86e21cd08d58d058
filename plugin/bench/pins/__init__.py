"""Places kept to be compared."""
