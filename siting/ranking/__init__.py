"""Which candidate is best: rows, order, trust in the order, and what wrong assumptions would change."""
