"""Which key does what while the bench's tool is in use."""
from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Callable

from qgis.PyQt.QtCore import Qt
from qgis.PyQt.QtGui import QKeyEvent

if TYPE_CHECKING:
    from .tool import PlaceTool

KEY, HELD = Qt.Key, Qt.KeyboardModifier
ARROWS = {KEY.Key_Left: (-1, 0), KEY.Key_Right: (1, 0), KEY.Key_Up: (0, -1), KEY.Key_Down: (0, 1)}
HEIGHT_M, HEIGHT_FAST_M = 0.1, 1.0
"""What a key or a turn of the wheel raises the antenna by, and what with Shift [m]."""
NUDGE_PX, NUDGE_FAR_PX = 1, 10


def action_of(event: QKeyEvent, tool: PlaceTool) -> Callable | None:
    """Return what a key does, or None where it is none of the bench's.

    Parameters
    ----------
    event : QKeyEvent
    tool : PlaceTool
    """
    key, held = event.key(), event.modifiers()
    shift, ctrl, alt = (bool(held & modifier)
                        for modifier in (HELD.ShiftModifier, HELD.ControlModifier, HELD.AltModifier))
    if held & HELD.MetaModifier or (ctrl and alt):
        return None
    if ctrl:
        return _with_ctrl(key, shift, tool)
    if alt:
        step = NUDGE_FAR_PX if shift else NUDGE_PX
        x, y = ARROWS.get(key, (0, 0))
        return partial(tool.nudge, x * step, y * step) if (x or y) and tool.has_antenna else None
    rise = _rise(key, shift)
    if rise:
        return partial(tool.rise, rise)
    if key == KEY.Key_Escape:
        return tool.escape
    if tool.has_antenna:
        return tool.clear if key in (KEY.Key_Delete, KEY.Key_Backspace) else None
    return tool.place_in_middle if key in (KEY.Key_Return, KEY.Key_Enter, KEY.Key_Space) else None


def _with_ctrl(key, shift, tool):
    if key == KEY.Key_Z:
        return tool.redo if shift else tool.undo
    return tool.redo if key == KEY.Key_Y and not shift else None


def _rise(key, shift):
    """Return by how much a key raises the antenna [m]."""
    step = HEIGHT_FAST_M if shift else HEIGHT_M
    # many keyboards have the plus on Shift, so that Shift says nothing there
    return {KEY.Key_Up: step, KEY.Key_Down: -step, KEY.Key_PageUp: HEIGHT_FAST_M, KEY.Key_PageDown: -HEIGHT_FAST_M,
            KEY.Key_Plus: HEIGHT_M, KEY.Key_Equal: HEIGHT_M, KEY.Key_Minus: -HEIGHT_M}.get(key, 0.0)
