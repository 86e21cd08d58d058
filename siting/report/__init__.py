"""What is written down for others: page, sheet and checklist; no QGIS."""
