"""The bench on the map: what is drawn there, and what mouse and keys do."""
