"""What the surface returns: permittivity, reflection, roughness, and the strength of the interference."""
