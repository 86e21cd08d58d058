"""The plugin's life cycle, and what the toolbox shows of each algorithm."""

import re

import pytest
from qgis.core import (
    QgsApplication,
    QgsProcessingModelAlgorithm,
    QgsProcessingParameterDefinition,
    QgsProcessingProvider,
)
from qgis.PyQt.QtCore import QCoreApplication, QEvent
from qgis.PyQt.QtWidgets import QAction, QDockWidget
from stillwater import classFactory

ALGORITHMS_OF_THE_FIRST_RELEASE = {"footprints", "surfacequality", "rankcandidates"}


def registered():
    """Give the provider that the registry knows, or None."""
    return QgsApplication.processingRegistry().providerById("stillwater")


def algorithm_ids() -> list:
    """List the ids that the registry would run."""
    return [algorithm.id() for algorithm in QgsApplication.processingRegistry().algorithms()
            if algorithm.id().startswith("stillwater:")]


def parts_of_the_window(qgis_iface) -> dict:
    """Count what a plugin could leave behind in the main window."""
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    return {kind.__name__: len(qgis_iface.mainWindow().findChildren(kind)) for kind in (QAction, QDockWidget)}


@pytest.fixture
def empty_registry(qgis_processing):
    """Start without the provider, and take it away should a failed test leave it."""
    assert registered() is None, "an earlier test left the provider behind"
    yield
    if registered() is not None:
        QgsApplication.processingRegistry().removeProvider("stillwater")


@pytest.fixture(params=["with iface", "without iface"])
def iface(request, qgis_iface, empty_registry):
    """Give the window's interface, or None as qgis_process does."""
    return qgis_iface if request.param == "with iface" else None


def test_loads_and_unloads_without_a_trace_and_does_so_twice(iface, qgis_iface):
    before = parts_of_the_window(qgis_iface)
    for _ in range(2):
        plugin = classFactory(iface)
        assert registered() is None
        plugin.initProcessing()
        assert isinstance(registered(), QgsProcessingProvider)
        if iface is not None:
            plugin.initGui()
        assert len(algorithm_ids()) == len(set(algorithm_ids())) >= len(ALGORITHMS_OF_THE_FIRST_RELEASE)
        plugin.unload()
        assert registered() is None
        assert algorithm_ids() == []
        assert parts_of_the_window(qgis_iface) == before


def test_a_desktop_start_registers_the_provider_once(qgis_iface, empty_registry):
    plugin = classFactory(qgis_iface)
    plugin.initGui()
    try:
        assert registered() is not None
        assert [p.id() for p in QgsApplication.processingRegistry().providers()].count("stillwater") == 1
    finally:
        plugin.unload()
    assert registered() is None


def test_a_plugin_that_never_started_unloads_quietly(iface):
    classFactory(iface).unload()


def test_the_provider_has_a_name_and_an_icon_of_its_own(provider):
    assert provider.name() == "Stillwater"
    assert provider.longName()
    icon, plain = provider.icon(), QgsApplication.getThemeIcon("/processingAlgorithm.svg")
    assert not icon.isNull()
    picture = icon.pixmap(32, 32).toImage()
    assert picture.width() > 0 and picture != plain.pixmap(32, 32).toImage()


def test_the_promised_algorithms_are_there(provider):
    assert {algorithm.name() for algorithm in provider.algorithms()} >= ALGORITHMS_OF_THE_FIRST_RELEASE


def test_each_algorithm_has_group_help_tags_and_icon(provider):
    for algorithm in provider.algorithms():
        where = algorithm.id()
        assert re.fullmatch(r"[a-z]+", algorithm.name()), where
        assert algorithm.displayName() and algorithm.group() and algorithm.groupId(), where
        assert len(algorithm.shortHelpString()) > 80, f"{where}: no help worth the name"
        assert algorithm.shortDescription(), f"{where}: the tooltip is empty"
        if isinstance(algorithm, QgsProcessingModelAlgorithm):
            continue  # models have neither tags nor icons of their own
        assert len(algorithm.tags()) >= 3, where
        assert not algorithm.icon().isNull(), where
        assert type(algorithm.create()) is type(algorithm), where


def test_each_parameter_and_output_explains_itself(provider):
    for algorithm in provider.algorithms():
        assert algorithm.parameterDefinitions(), algorithm.id()
        for parameter in algorithm.parameterDefinitions():
            where = f"{algorithm.id()} {parameter.name()}"
            # a model's help is one text; older QGIS puts the step's name before an output of it
            is_model = isinstance(algorithm, QgsProcessingModelAlgorithm)
            step = "([a-z]+:)?" if is_model else ""
            assert re.fullmatch(step + r"[A-Z][A-Z0-9_]*", parameter.name()), where
            assert parameter.description() and parameter.description() != parameter.name(), where
            if is_model and not parameter.isDestination():
                assert parameter.description() in algorithm.shortHelpString(), where
            elif not is_model:
                assert len(parameter.help()) > 10, f"{where} has no help"
        assert algorithm.outputDefinitions(), algorithm.id()


def test_only_destinations_that_are_optional_are_off_by_default(provider):
    optional = QgsProcessingParameterDefinition.Flag.FlagOptional
    for algorithm in provider.algorithms():
        destinations = algorithm.destinationParameterDefinitions()
        if isinstance(algorithm, QgsProcessingModelAlgorithm):
            continue  # its outputs are what it is for
        for number, parameter in enumerate(destinations):
            is_optional = bool(parameter.flags() & optional)
            # where all may be left out, at least one must be asked for: the first is proposed
            is_proposed = number == 0 and all(one.flags() & optional for one in destinations)
            assert parameter.createByDefault() == (is_proposed or not is_optional), (
                f"{algorithm.id()} {parameter.name()}")
