"""How the outputs look: their styles, aliases and groups, on the outputs themselves."""

import subprocess
import sys
from pathlib import Path

import pytest
import scenes
from qgis.core import (
    NULL,
    Qgis,
    QgsApplication,
    QgsExpression,
    QgsExpressionContext,
    QgsExpressionContextUtils,
    QgsFeature,
    QgsProject,
    QgsRenderContext,
    QgsStyle,
    QgsSymbolLayer,
)
from qgis.PyQt.QtGui import QColor
from stillwater.processing_algs.algorithms import (
    blindsky,
    footprints,
    horizon,
    improveposition,
    rankcandidates,
    samplinginterval,
    shorecandidates,
    skyarcs,
    surfacequality,
    waterfromshore,
)
from stillwater.processing_algs.layers import styling
from stillwater.siting.charts.palette import RAMP, quality_colour
from stillwater.siting.verdict.score import MARGINAL, NOT_ASSESSED, SUITABLE, UNSUITABLE

STYLES = Path(styling.STYLES)
OUTPUTS = {
    "footprints.qml": ("footprints", "OUTPUT", footprints.COLUMNS),
    "surfacequality.qml": ("surfacequality", "OUTPUT", surfacequality.COLUMNS),
    "surfacequality_detail.qml": ("surfacequality", "DETAIL", surfacequality.DETAIL_COLUMNS),
    "rankcandidates.qml": ("rankcandidates", "OUTPUT", rankcandidates.COLUMNS),
    "rankcandidates_best.qml": ("rankcandidates", "OUTPUT_BEST", rankcandidates.COLUMNS),
    "skyarcs.qml": ("skyarcs", "OUTPUT", skyarcs.COLUMNS),
    "blindsky.qml": ("blindsky", "OUTPUT", blindsky.COLUMNS),
    "samplinginterval.qml": ("samplinginterval", "OUTPUT", samplinginterval.COLUMNS),
    "horizon.qml": ("horizon", "OUTPUT", horizon.COLUMNS),
    "improveposition.qml": ("improveposition", "OUTPUT", improveposition.COLUMNS),
    "improveposition_moves.qml": ("improveposition", "OUTPUT_MOVES", improveposition.MOVE_COLUMNS),
    "waterfromshore.qml": ("waterfromshore", "OUTPUT", waterfromshore.COLUMNS),
    "shorecandidates.qml": ("shorecandidates", "OUTPUT", shorecandidates.COLUMNS),
}
FROM_SHORE = ("waterfromshore", "shorecandidates")
WITHOUT_SURFACE = ("footprints", "skyarcs", "blindsky", "samplinginterval")
SITES = [(scenes.SHORE_X + 30.0, scenes.MIDDLE_Y), (scenes.SHORE_X - 300.0, scenes.MIDDLE_Y)]  # at sea, far inland


def candidates():
    """Give one site in the water and one without any."""
    return scenes.points(*SITES, fields="name:string(60)|rank:integer", rows=[["pier", 7], ["field", 8]])


@pytest.fixture(scope="module")
def outputs(provider, coast):
    """Give the layer of each style, as an algorithm made it, not yet styled."""
    import processing
    made = {}
    for algorithm in dict.fromkeys(owner for owner, _output, _columns in OUTPUTS.values()):
        surface = {} if algorithm in WITHOUT_SURFACE else dict(coast)
        if algorithm == "horizon":
            # the classes stand for heights: any ground will do
            surface = {"DEM": coast["LANDCOVER"], "ANTENNA_HEIGHT": 100.0, "MAX_DISTANCE": 500.0}
        if algorithm == "surfacequality":
            surface["DETAIL"] = "TEMPORARY_OUTPUT"
        if algorithm == "rankcandidates":
            surface["OUTPUT_BEST"] = "TEMPORARY_OUTPUT"
        if algorithm == "improveposition":
            surface.update(OUTPUT_MOVES="TEMPORARY_OUTPUT", RADIUS=40.0)
        given = {"INPUT": candidates(), "SITE_FIELD": "name", **surface}
        if algorithm in FROM_SHORE:
            given = {"SHORE": f"{scenes.SAMPLE}/coast.gpkg|layername=shoreline"}
        result = processing.run(f"stillwater:{algorithm}", {"OUTPUT": "TEMPORARY_OUTPUT", **given})
        for style, (owner, output, _columns) in OUTPUTS.items():
            if owner == algorithm:
                made[style] = result[output]
    return made


@pytest.fixture
def styled(outputs):
    """Load the styles and give the layers; QGIS must not complain."""
    said = []

    def hear(text, tag, level):
        if level in (Qgis.MessageLevel.Warning, Qgis.MessageLevel.Critical):
            said.append(f"{tag}: {text}")

    QgsApplication.messageLog().messageReceived.connect(hear)
    try:
        for style, layer in outputs.items():
            message, loaded = layer.loadNamedStyle(str(STYLES / style))
            assert loaded, f"{style}: {message}"
    finally:
        QgsApplication.messageLog().messageReceived.disconnect(hear)
    assert said == []
    return outputs


def luminance(color) -> float:
    """Return the relative luminance of a colour (WCAG 2.1, from memory), as a grey print would order it."""
    parts = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4
             for c in (color.redF(), color.greenF(), color.blueF())]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def look_of(layer, feature) -> tuple:
    """Return the kind of the lowest symbol layer that a feature is drawn with, and the line colour of the topmost."""
    renderer, context = layer.renderer().clone(), QgsRenderContext()
    context.setExpressionContext(layer.createExpressionContext())
    context.expressionContext().setFeature(feature)
    renderer.startRender(context, layer.fields())
    symbol = renderer.symbolsForFeature(feature, context)[0]
    lowest, topmost = symbol.symbolLayer(0), symbol.symbolLayer(symbol.symbolLayerCount() - 1)
    look = (lowest.layerType(), topmost.strokeColor().name())
    renderer.stopRender(context)
    return look


def test_each_output_of_an_algorithm_finds_its_style():
    for style, (algorithm, output, _columns) in OUTPUTS.items():
        assert Path(styling.style_path(algorithm, output)) == STYLES / style
        assert (STYLES / style).is_file()


def test_the_styles_are_those_that_their_script_makes(tmp_path):
    if Qgis.QGIS_VERSION_INT >= 32300:
        pytest.skip("the styles are made on QGIS 3.22")
    subprocess.run([sys.executable, str(STYLES / "make_styles.py"), str(tmp_path)], check=True, timeout=120,
                   capture_output=True)
    for style in OUTPUTS:
        assert (tmp_path / style).read_text(encoding="utf-8") == (STYLES / style).read_text(encoding="utf-8"), (
            f"{style} is old: run plugin/styles/make_styles.py")


@pytest.mark.parametrize("style", OUTPUTS)
def test_each_field_has_its_alias_and_metres_and_degrees_their_unit(styled, style):
    layer = styled[style]
    for column in OUTPUTS[style][2]:
        assert layer.attributeAlias(layer.fields().lookupField(column.name)) == column.alias
        for ending, unit in (("_m", "[m]"), ("_deg", "[°]"), ("_m2", "[m²]")):
            if column.name.endswith(ending):
                assert unit in column.alias, column.name


def test_fields_of_the_input_keep_their_own_names(styled):
    layer = styled["rankcandidates.qml"]
    assert layer.attributeAlias(layer.fields().lookupField("rank_in")) == ""
    assert layer.fields().lookupField("rank_in") >= 0


@pytest.mark.parametrize("style", [s for s in OUTPUTS if not s.endswith("detail.qml")])
def test_map_tips_and_display_names_can_be_evaluated(styled, style):
    layer = styled[style]
    for feature in layer.getFeatures():
        context = QgsExpressionContext(QgsExpressionContextUtils.globalProjectLayerScopes(layer))
        context.setFeature(feature)
        tip = QgsExpression.replaceExpressionText(layer.mapTipTemplate(), context)
        key = feature["kind" if style == "waterfromshore.qml" else "site"]
        assert key in tip and "[%" not in tip and "NULL" not in tip
        name = QgsExpression(layer.displayExpression())
        assert key in str(name.evaluate(context)) and not name.hasEvalError()


def test_sectors_grow_lighter_with_quality_in_steps_that_join(styled):
    layer = styled["surfacequality.qml"]
    none, *steps = layer.renderer().ranges()
    assert layer.renderer().classAttribute() == "quality"
    assert (none.lowerValue(), none.upperValue()) == (0.0, 0.0)
    assert [s.lowerValue() for s in steps] == pytest.approx([i / len(steps) for i in range(len(steps))])
    assert [s.upperValue() for s in steps] == pytest.approx([(i + 1) / len(steps) for i in range(len(steps))])
    light = [luminance(s.symbol().color()) for s in steps]
    assert all(b > a + 0.02 for a, b in zip(light, light[1:]))
    assert all(0 < s.symbol().color().alpha() < 200 for s in steps), "the imagery must show through"
    assert none.symbol().symbolLayer(0).layerType() == "LinePatternFill"
    assert {s.symbol().symbolLayer(0).layerType() for s in steps} == {"SimpleFill"}


def test_sectors_without_a_window_are_hatched_and_all_others_are_not(styled):
    layer = styled["surfacequality.qml"]
    seen = set()
    for feature in layer.getFeatures():
        kind, _line = look_of(layer, feature)
        assert (kind == "LinePatternFill") == (feature["el_from"] in (None, NULL))
        seen.add(kind)
    assert seen == {"LinePatternFill", "SimpleFill"}


def test_map_and_chart_give_a_quality_the_same_colour(styled):
    steps = styled["surfacequality.qml"].renderer().ranges()[1:]
    for step in steps:
        middle = (step.lowerValue() + step.upperValue()) / 2
        assert step.symbol().color().name() == quality_colour(middle)


def test_the_ramp_is_cividis():
    """QGIS's own Cividis, from the default style, told at the same places."""
    cividis = QgsStyle.defaultStyle().colorRamp("Cividis")
    for i, ours in enumerate(RAMP):
        theirs = cividis.color(i / (len(RAMP) - 1))
        one = QColor(ours)
        for a, b in ((one.red(), theirs.red()), (one.green(), theirs.green()), (one.blue(), theirs.blue())):
            assert abs(a - b) <= 4


def test_verdicts_differ_in_shape_and_in_lightness(styled):
    categories = styled["rankcandidates.qml"].renderer().categories()
    looks = {c.value(): c.symbol() for c in categories}
    assert set(looks) == {SUITABLE, MARGINAL, UNSUITABLE, NOT_ASSESSED}
    assert len({s.symbolLayer(1).shape() for s in looks.values()}) == len(looks)
    light = [luminance(looks[v].symbolLayer(1).color()) for v in (SUITABLE, MARGINAL, UNSUITABLE)]
    assert light[0] > light[1] + 0.1 and light[1] > light[2] + 0.1
    for symbol in looks.values():
        color = symbol.symbolLayer(1).color()
        assert not (color.red() > 150 and color.green() < 90), "red stands against nothing here"


def test_satellite_systems_differ_in_dash_and_arrows_point_onwards(styled):
    categories = styled["skyarcs.qml"].renderer().categories()
    assert [c.value() for c in categories] == ["GPS", "GLONASS", "Galileo", "BeiDou", "QZSS"]
    lines = [c.symbol().symbolLayer(1) for c in categories]
    dashes = [tuple(line.customDashVector()) if line.useCustomDashPattern() else () for line in lines]
    assert len(set(dashes)) == 5 and len({line.color().name() for line in lines}) == 5
    assert {c.symbol().symbolLayer(2).layerType() for c in categories} == {"MarkerLine"}


def test_blind_sky_is_barred_the_other_way_than_sectors_without_a_window(styled):
    symbol = styled["blindsky.qml"].renderer().symbol()
    ranges = styled["surfacequality.qml"].renderer().ranges()
    assert (symbol.symbolLayer(1).lineAngle() - ranges[0].symbol().symbolLayer(0).lineAngle()) % 180 == 90


def test_each_site_s_interval_falls_under_one_rule_and_is_the_lighter_the_longer(styled):
    layer = styled["samplinginterval.qml"]
    rules = layer.renderer().rootRule().children()
    for longest, recommended in ((90.0, 60.0), (30.0, 15.0), (2.0, 1.0), (1.0, 0.5), (0.01, None), (None, None)):
        feature = QgsFeature(layer.fields())
        feature["int_max_s"], feature["int_rec_s"] = longest, recommended
        context = QgsExpressionContext()
        context.setFeature(feature)
        context.setFields(layer.fields())
        fits = [rule for rule in rules if QgsExpression(rule.filterExpression()).evaluate(context)]
        assert len(fits) == 1, (longest, recommended)
    light = [luminance(rule.symbol().symbolLayer(1).color()) for rule in rules[:4]]
    assert all(a > b + 0.05 for a, b in zip(light, light[1:]))


def test_arrows_of_shore_candidates_turn_to_the_water_and_kinds_differ_in_shape(styled):
    categories = styled["shorecandidates.qml"].renderer().categories()
    assert [c.value() for c in categories] == ["shore", "edge", "corner"]
    assert len({c.symbol().symbolLayer(2).shape() for c in categories}) == 3
    for category in categories:
        for arrow in category.symbol().symbolLayers()[:2]:
            angle = arrow.dataDefinedProperties().property(QgsSymbolLayer.Property.PropertyAngle)
            assert arrow.shape() == category.symbol().symbolLayer(1).shape() and angle.field() == "face_deg"


def test_candidates_are_labelled_by_rank_and_name(styled):
    layer = styled["rankcandidates.qml"]
    assert layer.labelsEnabled()
    settings = layer.labeling().settings()
    assert settings.format().buffer().enabled()
    texts = []
    for feature in layer.getFeatures():
        context = layer.createExpressionContext()
        context.setFeature(feature)
        texts.append(QgsExpression(settings.fieldName).evaluate(context))
    assert sorted(texts) == ["1  pier", "2  field"]


def line(layer, angle) -> str:
    """Return the colour of the outline of footprints of an elevation angle."""
    feature = next(f for f in layer.getFeatures() if f["el_deg"] == angle)
    return look_of(layer, feature)[1]


def footprints_of(angles: str):
    """Make styled footprints of some elevation angles."""
    import processing
    layer = processing.run("stillwater:footprints", {
        "INPUT": candidates(), "ELEVATIONS": angles, "AZIMUTH_STEP": 90, "OUTPUT": "TEMPORARY_OUTPUT"})["OUTPUT"]
    _message, loaded = layer.loadNamedStyle(str(STYLES / "footprints.qml"))
    assert loaded
    return layer


def test_footprints_are_ordered_by_the_angle_s_place_in_their_own_layer(provider):
    usual, high, single = footprints_of("6, 10, 15, 22"), footprints_of("15, 30"), footprints_of("15")
    light = [luminance(QColor(line(usual, angle))) for angle in (6, 10, 15, 22)]
    assert all(a > b + 0.02 for a, b in zip(light, light[1:]))
    assert line(high, 15) == line(usual, 6) == line(single, 15)
    assert line(high, 30) == line(usual, 22) != line(usual, 15)


@pytest.fixture
def project(qgis_new_project):
    """Give the project, empty before and after."""
    yield QgsProject.instance()
    QgsProject.instance().clear()


def load(algorithm: str, **parameters):
    """Run an algorithm as the toolbox does: its layers are loaded into the project."""
    import processing
    return processing.runAndLoadResults(f"stillwater:{algorithm}", {
        "INPUT": candidates(), "SITE_FIELD": "name", "OUTPUT": "TEMPORARY_OUTPUT", **parameters})


def test_a_run_s_layers_open_styled_in_one_group_named_after_it(provider, coast, project):
    load("surfacequality", DETAIL="TEMPORARY_OUTPUT", **coast)
    groups = project.layerTreeRoot().findGroups()
    assert len(groups) == 1 and groups[0].name().startswith("Surface quality by azimuth, 20")
    assert [node.layer().isSpatial() for node in groups[0].findLayers()] == [True, False]
    assert len(project.mapLayers()) == 2 and len(project.layerTreeRoot().findLayers()) == 2
    sectors, detail = (node.layer() for node in groups[0].findLayers())
    assert sectors.renderer().type() == "graduatedSymbol"
    assert detail.attributeAlias(detail.fields().lookupField("level_m")) == "Level [m]"


def test_another_run_gets_a_group_of_its_own_on_top(provider, coast, project):
    load("footprints")
    load("rankcandidates", **coast)
    names = [group.name().partition(",")[0] for group in project.layerTreeRoot().findGroups()]
    assert names == ["Rank candidate sites", "Reflection footprints"]
    assert [len(g.findLayers()) for g in project.layerTreeRoot().findGroups()] == [1, 1]
    kinds = {layer.name(): layer.renderer().type() for layer in project.mapLayers().values()}
    assert kinds == {"Footprints": "RuleRenderer", "Ranked candidates": "categorizedSymbol"}


def test_nothing_waits_for_a_layer_that_is_not_loaded(provider, coast, project):
    import processing
    before = len(styling._waiting)
    processing.run("stillwater:rankcandidates", {
        "INPUT": candidates(), "OUTPUT": "TEMPORARY_OUTPUT", **coast})
    load("rankcandidates", **coast)
    assert len(styling._waiting) == before
