#!/bin/bash
# Make the pictures of the README: window.png and bench_*.png (the real QGIS window), map_demo.png and closeup.png.
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
STILLWATER_PICTURE=$scratch/window.png "$here/in_window.sh" "$here/window_picture.py"
[ -s "$scratch/window.png" ] || { echo "pictures: QGIS gave no picture of its window" >&2; exit 1; }

echo "pictures: the bench" >&2
for theme in light dark; do
    STILLWATER_PICTURES=$scratch STILLWATER_THEME=$theme STILLWATER_SETTINGS='[stillwater]\nbench\\seen=true\n' \
        "$here/in_window.sh" "$here/bench_picture.py"
done

echo "pictures: the map and its close-up" >&2
"$root/sample_layers/demo.sh" "$scratch/demo" >"$scratch/demo.log"
export QT_QPA_PLATFORM=offscreen GDAL_PAM_ENABLED=NO
/usr/bin/python3 -W ignore::DeprecationWarning "$here/closeup_picture.py" "$scratch/demo/stillwater_demo.gpkg" \
    "$scratch/closeup.png"
shrink "$scratch/window.png" "$folder/window.png" 1600
shrink "$scratch/bench_light.png" "$folder/bench_light.png" 1600
shrink "$scratch/bench_dark.png" "$folder/bench_dark.png" 1600
shrink "$scratch/bench_light_narrow.png" "$folder/bench_light_narrow.png" 1600
shrink "$scratch/bench_dark_narrow.png" "$folder/bench_dark_narrow.png" 1600
shrink "$scratch/demo/map.png" "$folder/map_demo.png" 1140
shrink "$scratch/closeup.png" "$folder/closeup.png" 1050
ls -l "$folder"/*.png >&2
