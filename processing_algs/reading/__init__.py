"""From parameters and layers to what the science takes."""
