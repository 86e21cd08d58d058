"""Where the plugin's own files lie."""
from __future__ import annotations

import os

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
"""The plugin's package."""
PLUGIN = os.path.join(ROOT, "plugin")
ICONS = os.path.join(PLUGIN, "icons")
MODELS = os.path.join(PLUGIN, "models")
STYLES = os.path.join(PLUGIN, "styles")
SAMPLES = os.path.join(ROOT, "sample_layers")
METADATA = os.path.join(ROOT, "metadata.txt")
