"""Listening to signals, until told to let go."""
from __future__ import annotations


class Links:
    """Signals that lead to slots.

    Parameters
    ----------
    *pairs : tuple of (signal, slot)
        Connected at once.
    """

    def __init__(self, *pairs):
        self._pairs = pairs
        for signal, slot in pairs:
            signal.connect(slot)

    def let_go(self) -> None:
        """Disconnect all of them; to do so twice does no harm."""
        pairs, self._pairs = self._pairs, ()
        for signal, slot in pairs:
            signal.disconnect(slot)
