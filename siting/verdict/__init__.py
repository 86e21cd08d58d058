"""How the verdict is reached: windows, bins, desirabilities, and their words."""
