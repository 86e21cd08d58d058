"""What needs QGIS to be printed: maps, pages of paper, PDF."""
