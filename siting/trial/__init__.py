"""A station tried out: arcs as a receiver would record them, by physical optics, and the heights found in them."""
