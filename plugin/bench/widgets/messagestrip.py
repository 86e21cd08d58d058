"""A message in place: what is being done, what is doubtful, what is wrong."""
from __future__ import annotations

from qgis.PyQt.QtCore import Qt
from qgis.PyQt.QtWidgets import QFrame, QGridLayout, QLabel, QProgressBar, QSizePolicy, QStyle

from .plainlabel import plain_label

SIGNS = {"busy": "SP_BrowserReload", "hint": "SP_MessageBoxInformation", "warning": "SP_MessageBoxWarning",
         "error": "SP_MessageBoxCritical"}
"""Standard icons of the window's style, whose shapes differ."""


class MessageStrip(QFrame):
    """One message with a sign of its kind; takes no room without one."""

    def __init__(self, parent=None):
        super().__init__(parent)
        self.kind = ""
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self._kinds = {"busy": self.tr("Working"), "hint": self.tr("Hint"), "warning": self.tr("Warning"),
                       "error": self.tr("Error")}
        self.icon, self.label, self.bar = QLabel(), plain_label(), QProgressBar()
        self.label.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        self.bar.setRange(0, 0)
        self.bar.setTextVisible(False)
        self.bar.setFixedHeight(4)
        layout = QGridLayout(self)
        layout.setContentsMargins(6, 4, 6, 4)
        layout.setColumnStretch(1, 1)
        layout.addWidget(self.icon, 0, 0, Qt.AlignmentFlag.AlignTop)
        layout.addWidget(self.label, 0, 1)
        layout.addWidget(self.bar, 1, 0, 1, 2)
        self.hide()

    def say(self, kind: str, text: str) -> None:
        """Show a message.

        Parameters
        ----------
        kind : str
            `busy`, `hint`, `warning` or `error`; empty: nothing to say.
        text : str
        """
        if (kind, text) == (self.kind, self.label.text()):
            return
        self.kind = kind if text else ""
        self.label.setText(text)
        if self.kind:
            side = self.style().pixelMetric(QStyle.PixelMetric.PM_SmallIconSize)
            sign = self.style().standardIcon(getattr(QStyle.StandardPixmap, SIGNS[kind]))
            self.icon.setPixmap(sign.pixmap(side, side))
            self.icon.setToolTip(self._kinds[kind])
            self.bar.setVisible(kind == "busy")
            self.setAccessibleName(f"{self._kinds[kind]}: {text}")
            self.label.setAccessibleName(f"{self._kinds[kind]}: {text}")
        else:
            self.setAccessibleName("")
        self.setVisible(bool(self.kind))
