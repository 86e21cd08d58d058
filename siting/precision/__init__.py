"""How precise a height will be: antenna and receiver, noise and leakage of arcs, values through the day."""
