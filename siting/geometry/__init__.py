"""Fresnel zones, sectors, and local metres in any CRS: the plane geometry that everything stands on."""
