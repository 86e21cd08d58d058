"""The bench in German: complete, compiled, with the same placeholders, and installed in a German QGIS."""

import ast
import re
from dataclasses import asdict
from pathlib import Path
from xml.etree import ElementTree

import pytest
from qgis.PyQt.QtCore import QCoreApplication, QTranslator
from stillwater.plugin.bench.model.settings import BenchSettings
from stillwater.processing_algs.algorithms.rankcandidates import RankCandidatesAlgorithm

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "plugin" / "i18n"


def texts_of(path) -> set:
    """Return the (class, text) pairs that a file hands to `tr`."""
    found = set()
    for one in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(one, ast.ClassDef):
            continue
        for call in ast.walk(one):
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Attribute) and call.func.attr == "tr":
                if path.name == "formsection.py":
                    continue  # labels of the algorithm's parameters, see below
                text = call.args[0]
                assert isinstance(text, ast.Constant) and isinstance(text.value, str), (
                    f"{path.name}, line {call.lineno}: what is translated must be written out")
                found.add((one.name, text.value))
    return found


@pytest.fixture(scope="module")
def german() -> dict:
    """Return the translations by (context, text)."""
    made = {}
    for context in ElementTree.parse(FOLDER / "stillwater_de.ts").getroot().findall("context"):
        for message in context.findall("message"):
            translation = message.find("translation")
            assert translation.get("type") is None, f"not finished: {message.find('source').text}"
            made[context.find("name").text, message.find("source").text] = translation.text
    return made


def test_every_text_of_the_bench_is_translated(german):
    texts = set().union(*(texts_of(path) for path in (ROOT / "plugin" / "bench").rglob("*.py")))
    algorithm = RankCandidatesAlgorithm()
    algorithm.initAlgorithm({})
    for name in ("ANTENNA_HEIGHT", *asdict(BenchSettings())):
        definition = algorithm.parameterDefinition(name)
        texts |= {("Stillwater", definition.description()), ("Stillwater", definition.help())}
    assert len(texts) > 60
    assert texts - set(german) == set(), "run plugin/i18n/make_translations.sh and translate"
    assert set(german) - texts == set(), "texts that are used no more"


def test_placeholders_markup_and_shortcuts_stay(german):
    for (context, text), translation in german.items():
        where = f"{context}: {text}"
        assert translation and translation.strip(), where
        assert sorted(re.findall(r"\{\w*[^}]*\}", text)) == sorted(re.findall(r"\{\w*[^}]*\}", translation)), where
        assert re.findall(r"</?\w+>", text) == re.findall(r"</?\w+>", translation), where
        assert text.endswith("…") == translation.endswith("…"), where


def test_what_is_compiled_is_what_was_translated(german, qgis_app):
    translator = QTranslator()
    assert translator.load(str(FOLDER / "stillwater_de.qm"))
    qgis_app.installTranslator(translator)
    try:
        for (context, text), translation in german.items():
            assert QCoreApplication.translate(context, text) == translation, f"{context}: {text}"
    finally:
        qgis_app.removeTranslator(translator)
