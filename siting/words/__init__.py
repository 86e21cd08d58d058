"""How it is told: texts of figures, reasons, limits and advice. What is told was computed elsewhere."""
