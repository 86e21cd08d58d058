"""What QGIS loads: life cycle, styles, icons, help. No science."""
