"""The live bench: an antenna is placed on the map, and footprints, good directions and verdict follow it."""
