"""What the sky gives: orbits, passes, empty sky, and how often to log."""
