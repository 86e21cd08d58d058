"""Stillwater: tells whether a GNSS reflectometry site will work before anyone builds it."""


def classFactory(iface):
    """Load the plugin; QGIS calls this with its interface, or None without a window."""
    from .plugin.main import StillwaterPlugin
    return StillwaterPlugin(iface)
