"""What is said once, when the dock is opened for the first time."""
from __future__ import annotations

import os
import shutil

from qgis.core import QgsSettings
from qgis.PyQt.QtCore import QStandardPaths, Qt
from qgis.PyQt.QtWidgets import (
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QStyle,
    QToolButton,
    QVBoxLayout,
)

from ....processing_algs.folders import SAMPLES

SEEN_KEY = "stillwater/bench/seen"
PROJECT, COPY = "sample_project.qgs", "stillwater_sample"


class FirstHint(QFrame):
    """How the bench is used, and a way to try it; never seen again once dismissed.

    Parameters
    ----------
    iface : QgisInterface
    """

    def __init__(self, iface, parent=None):
        super().__init__(parent)
        self._iface = iface
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.how = QLabel(self.tr("Click to place, drag to move, turn the wheel over the antenna for its height, "
                                  "Esc to leave."))
        self.problem = QLabel()
        for label in (self.how, self.problem):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.PlainText)
        self.problem.hide()
        self.open = QPushButton(self.tr("Open the sample project"))
        self.open.setToolTip(self.tr("Copy an invented coast into a folder of your choice, and open it"))
        self.open.setVisible(os.path.exists(os.path.join(SAMPLES, PROJECT)))
        self.open.clicked.connect(self._open_sample)
        self.dismiss = QToolButton()
        self.dismiss.setIcon(self.style().standardIcon(QStyle.StandardPixmap.SP_TitleBarCloseButton))
        self.dismiss.setText(self.tr("Dismiss"))
        self.dismiss.setToolTip(self.tr("Never show this again"))
        self.dismiss.setAutoRaise(True)
        self.dismiss.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.dismiss.clicked.connect(self._dismiss)
        layout, head = QVBoxLayout(self), QHBoxLayout()
        layout.setContentsMargins(6, 4, 6, 6)
        head.addWidget(self.how, 1)
        head.addWidget(self.dismiss, 0, Qt.AlignmentFlag.AlignTop)
        layout.addLayout(head)
        layout.addWidget(self.open)
        layout.addWidget(self.problem)
        self.setVisible(not QgsSettings().value(SEEN_KEY, False, bool))

    def _dismiss(self):
        QgsSettings().setValue(SEEN_KEY, True)
        self.hide()

    def _open_sample(self):
        """Copy the sample, for what is installed may not be written to, and open the copy."""
        documents = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
        folder = QFileDialog.getExistingDirectory(self, self.tr("Folder for a copy of the sample project"), documents)
        if not folder:
            return
        try:
            path = copy_sample(folder)
        except OSError as error:
            self.problem.setText(self.tr("The sample could not be copied: {}").format(error))
            self.problem.show()
            return
        self._dismiss()
        self._iface.addProject(path)


def copy_sample(folder: str) -> str:
    """Copy the sample project and its layers into a new folder within another.

    Returns
    -------
    str
        The project's path.

    Raises
    ------
    OSError
    """
    target, number = os.path.join(folder, COPY), 1
    while os.path.exists(target):
        number += 1
        target = os.path.join(folder, f"{COPY}_{number}")
    # contents alone: an installed file may be read-only, and its copy may not
    shutil.copytree(SAMPLES, target, ignore=shutil.ignore_patterns("*.py", "*.sh", "__pycache__"),
                    copy_function=shutil.copyfile)
    return os.path.join(target, PROJECT)
