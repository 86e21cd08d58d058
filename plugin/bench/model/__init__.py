"""What the bench knows and computes; no widget."""
