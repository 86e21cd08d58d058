#!/bin/bash
# Make the pictures of the README: window.png (the real QGIS window), map_demo.png and closeup.png.
# Usage: plugin/help/make_pictures.sh [FOLDER]     (FOLDER: this one by default)
set -euo pipefail
here=$(cd "$(dirname "$(readlink -f "${BASH_SOURCE[0]}")")" && pwd)
root=$(dirname "$(dirname "$here")")
folder=${1:-$here}
mkdir -p "$folder"
folder=$(cd "$folder" && pwd)
"$root/.ci/setup" pngquant >&2
scratch=$(mktemp -d "${TMPDIR:-/tmp}/stillwater-pictures.XXXXXX")
trap 'rm -rf "$scratch"' EXIT
settings=$scratch/profiles/default/QGIS
mkdir -p "$scratch/plugins" "$settings"
mkdir -m 700 "$scratch/run"
ln -s "$root" "$scratch/plugins/stillwater"
# A copy, for QGIS writes beside and into what it opens.
cp -r "$root/sample_layers" "$scratch/sample_layers"
printf '[PythonPlugins]\nstillwater=true\nprocessing=true\n[qgis]\nwalForSqlite3=false\ncheckVersion=false\n' \
    >"$settings/QGIS3.ini"
export XDG_RUNTIME_DIR=$scratch/run XDG_CONFIG_HOME=$scratch/xdg XDG_DATA_HOME=$scratch/xdg XDG_CACHE_HOME=$scratch/xdg
export PYTHONDONTWRITEBYTECODE=1 PYTHONNOUSERSITE=1 LC_ALL=C.UTF-8

# Scale a picture to a width and give it a palette, as rich as 390 kB allow.
shrink() {
    local scaled=$scratch/scaled.png colours
    gdal_translate -q -of PNG -b 1 -b 2 -b 3 -r lanczos -outsize "$3" 0 --config GDAL_PAM_ENABLED NO "$1" "$scaled"
    for colours in 256 192 160 128 112 96 80 64; do
        pngquant --force --strip --speed 1 --nofs --output "$2" "$colours" "$scaled"
        if [ "$(stat -c %s "$2")" -le 390000 ]; then return; fi
    done
    echo "pictures: $2 is too large even with 64 colours; choose a smaller width" >&2
    exit 1
}

echo "pictures: the window" >&2
STILLWATER_SAMPLES=$scratch/sample_layers STILLWATER_PICTURE=$scratch/window.png QGIS_PLUGINPATH=$scratch/plugins \
    QT_QPA_PLATFORM=xcb timeout 300 xvfb-run -a -s "-screen 0 1600x1000x24" \
    qgis --nologo --noversioncheck --profiles-path "$scratch" --code "$here/window_picture.py" \
    >"$scratch/window.log" 2>&1 || true
if [ ! -s "$scratch/window.png" ]; then
    tail -n 40 "$scratch/window.log" >&2
    echo "pictures: QGIS gave no picture of its window" >&2
    exit 1
fi

echo "pictures: the map and its close-up" >&2
"$root/sample_layers/demo.sh" "$scratch/demo" >"$scratch/demo.log"
export QT_QPA_PLATFORM=offscreen GDAL_PAM_ENABLED=NO
/usr/bin/python3 -W ignore::DeprecationWarning "$here/closeup_picture.py" "$scratch/demo/stillwater_demo.gpkg" \
    "$scratch/closeup.png"
shrink "$scratch/window.png" "$folder/window.png" 1600
shrink "$scratch/demo/map.png" "$folder/map_demo.png" 1140
shrink "$scratch/closeup.png" "$folder/closeup.png" 1050
ls -l "$folder"/*.png >&2
