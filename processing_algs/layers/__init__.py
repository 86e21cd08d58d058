"""From what the science gives to layers: fields, geometries, files, styles."""
