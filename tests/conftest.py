"""Make the repository root importable as the package `stillwater`, before any test is imported.

The science tests need neither QGIS nor pytest-qgis; where one of them is missing, tests/qgis is
left out and the report's header says so. Under CI that is an error, for there they must run.
"""

import importlib.util
import os
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def load_package_from_root() -> None:
    """Import the repository root under the package's name, whatever its folder is called."""
    already = sys.modules.get("stillwater")
    if already is not None:
        if Path(already.__file__).resolve().parent != ROOT:
            raise ImportError(f"another stillwater is imported already: {already.__file__}")
        return
    spec = importlib.util.spec_from_file_location(
        "stillwater", ROOT / "__init__.py", submodule_search_locations=[str(ROOT)])
    package = importlib.util.module_from_spec(spec)
    sys.modules["stillwater"] = package
    spec.loader.exec_module(package)


def missing_for_qgis_tests() -> list:
    """List what the tests under tests/qgis need and this Python does not have."""
    missing = []
    for name in ("qgis.core", "pytest_qgis"):
        try:
            importlib.import_module(name)
        except ImportError:
            missing.append(name)
    return missing


load_package_from_root()
MISSING = missing_for_qgis_tests()
if MISSING and os.environ.get("CI"):
    raise pytest.UsageError(f"under CI tests/qgis must run, but {' and '.join(MISSING)} cannot be imported")
collect_ignore = ["qgis"] if MISSING else []


def pytest_report_header() -> str:
    """Name the QGIS in use, or say why its tests are left out."""
    if MISSING:
        return f"QGIS: tests/qgis left out, {' and '.join(MISSING)} cannot be imported"
    from qgis.core import Qgis
    return f"QGIS: {Qgis.QGIS_VERSION}"


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list) -> None:
    """Mark tests by their folder, so that no benchmark runs because someone forgot the mark."""
    for item in items:
        folder = item.path.relative_to(ROOT / "tests").parts[0]
        if folder == "benchmarks":
            item.add_marker(pytest.mark.benchmark)
        elif folder == "qgis":
            item.add_marker(pytest.mark.qgis)


@pytest.fixture(scope="session")
def repository_root() -> Path:
    """Give the folder that holds the package."""
    return ROOT


_exit_status: list = []


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Remember how the tests ended."""
    _exit_status.append(int(exitstatus))


@pytest.hookimpl(trylast=True)
def pytest_unconfigure(config: pytest.Config) -> None:
    """Leave at once when all has been reported.

    Python destroys what tests still hold (layers in a traceback, a dialog) after QGIS has gone, and QGIS 3.40
    answers with a segmentation fault that would hide the tests' own result.
    """
    if "qgis.core" in sys.modules and _exit_status:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(_exit_status[-1])
