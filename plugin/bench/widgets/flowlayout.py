"""A row of widgets that goes on in the next line where a window is narrow."""
from __future__ import annotations

from qgis.PyQt.QtCore import QPoint, QRect, QSize, Qt
from qgis.PyQt.QtWidgets import QLayout, QLayoutItem

GAP_PX = 4


class FlowLayout(QLayout):
    """Sets its widgets side by side, in as many lines as they need."""

    def __init__(self, parent=None):
        super().__init__(parent)
        self._items: list = []
        self.setContentsMargins(0, 0, 0, 0)
        self.setSpacing(GAP_PX)

    def addItem(self, item: QLayoutItem) -> None:
        self._items.append(item)

    def count(self) -> int:
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        # none; a set of flags has a type of its own in Qt 5
        return getattr(Qt, "Orientations", Qt.Orientation)(0)

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return self._place(QRect(0, 0, width, 0), False)

    def setGeometry(self, rect: QRect) -> None:
        super().setGeometry(rect)
        self._place(rect, True)

    def minimumSize(self) -> QSize:
        widest = QSize()
        for item in self._items:
            widest = widest.expandedTo(item.minimumSize())
        return widest

    def sizeHint(self) -> QSize:
        hints = [item.sizeHint() for item in self._items]
        gaps = self.spacing() * max(len(hints) - 1, 0)
        return QSize(sum(hint.width() for hint in hints) + gaps, max((hint.height() for hint in hints), default=0))

    def _place(self, rect, is_real) -> int:
        """Set the items into a rectangle, or only look how high they get [px]."""
        x, y, line = rect.x(), rect.y(), 0
        for item in self._items:
            widget = item.widget()
            if widget is not None and widget.isHidden():
                continue
            size = item.sizeHint()
            if x > rect.x() and x + size.width() > rect.right() + 1:
                x, y, line = rect.x(), y + line + self.spacing(), 0
            size.setWidth(min(size.width(), rect.width()))
            if is_real:
                item.setGeometry(QRect(QPoint(x, y), size))
            x += size.width() + self.spacing()
            line = max(line, size.height())
        return y + line - rect.y()
