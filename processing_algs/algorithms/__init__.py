"""The toolbox: what all algorithms have in common, and one file an algorithm."""
