"""The science of siting a GNSS reflectometry antenna: arrays in, arrays out.

Nothing here imports QGIS. Metres, degrees, seconds and UTC throughout; the
unit stands in the name or in square brackets in the docstring.
"""
