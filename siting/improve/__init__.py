"""Improving a position: where near a site, and how high, an antenna would do better."""
