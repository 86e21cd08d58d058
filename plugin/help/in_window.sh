#!/bin/bash
# Run a Python script inside the real QGIS window on a virtual screen, with this checkout as the plugin, in a
# throwaway profile, beside a copy of the sample layers (their folder: STILLWATER_SAMPLES).
# Usage: plugin/help/in_window.sh SCRIPT.py    Its log is shown if it ends with an error.
set -euo pipefail
here=$(cd "$(dirname "$(readlink -f "${BASH_SOURCE[0]}")")" && pwd)
root=$(dirname "$(dirname "$here")")
scratch=$(mktemp -d "${TMPDIR:-/tmp}/stillwater-window.XXXXXX")
trap 'rm -rf "$scratch"' EXIT
settings=$scratch/profiles/default/QGIS
mkdir -p "$scratch/plugins" "$settings"
mkdir -m 700 "$scratch/run"
ln -s "$root" "$scratch/plugins/stillwater"
# A copy, for QGIS writes beside and into what it opens.
cp -r "$root/sample_layers" "$scratch/sample_layers"
printf '[PythonPlugins]\nstillwater=true\nprocessing=true\n[qgis]\nwalForSqlite3=false\ncheckVersion=false\n' \
    >"$settings/QGIS3.ini"
[ -z "${STILLWATER_SETTINGS:-}" ] || printf '%b' "$STILLWATER_SETTINGS" >>"$settings/QGIS3.ini"
export XDG_RUNTIME_DIR=$scratch/run XDG_CONFIG_HOME=$scratch/xdg XDG_DATA_HOME=$scratch/xdg XDG_CACHE_HOME=$scratch/xdg
# What the scripts share lies beside them, and QGIS does not tell them where they lie.
export PYTHONPATH=$here${PYTHONPATH:+:$PYTHONPATH}
export PYTHONDONTWRITEBYTECODE=1 PYTHONNOUSERSITE=1 LC_ALL=${STILLWATER_LOCALE:-C.UTF-8}
STILLWATER_SAMPLES=$scratch/sample_layers QGIS_PLUGINPATH=$scratch/plugins QT_QPA_PLATFORM=xcb \
    timeout 300 xvfb-run -a -s "-screen 0 1600x1000x24" \
    qgis --nologo --noversioncheck --profiles-path "$scratch" --code "$1" >"$scratch/log" 2>&1 ||
    { code=$?; tail -n 40 "$scratch/log" >&2; exit "$code"; }
[ -z "${STILLWATER_VERBOSE:-}" ] || cat "$scratch/log" >&2
