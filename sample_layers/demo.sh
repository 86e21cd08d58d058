#!/bin/bash
# Run the main job on the sample layers through qgis_process, and show what it gives.
# Usage: sample_layers/demo.sh [FOLDER]     (FOLDER: build/demo by default; files of an earlier run are replaced)
# It leaves there stillwater_demo.gpkg (opens styled), ranking*.html, map.png and a site sheet, and prints the ranking.
set -euo pipefail
layers=$(cd "$(dirname "$(readlink -f "${BASH_SOURCE[0]}")")" && pwd)
root=$(dirname "$layers")
folder=${1:-$root/build/demo}
mkdir -p "$folder"
folder=$(cd "$folder" && pwd)
parts=$(mktemp -d "${TMPDIR:-/tmp}/stillwater-demo.XXXXXX")
trap 'rm -rf "$parts"' EXIT
export QT_QPA_PLATFORM=offscreen

# What all three algorithms are told of the candidates of one purpose.
site_parameters() {
    printf '%s\n' "INPUT=$layers/coast.gpkg|layername=candidates|subset=purpose='$1'" SITE_FIELD=name \
        HEIGHT_FIELD=height_m HEIGHT_REFERENCE=ground SURFACE_FIELD=level_m "DEM=$layers/elevation.tif"
}

# And what the two that look at the surface are told besides; $2 are the land-cover classes that are the surface.
surface_parameters() {
    printf '%s\n' "PURPOSE=$1" LOW_FIELD=low_m HIGH_FIELD=high_m DEM_WATER=bed \
        "LANDCOVER=$layers/landcover.tif" "TARGET_CLASSES=$2" \
        "AVOID=$layers/coast.gpkg|layername=avoid" AVOID_FIELD=share AVOID_NAME=name
}

# Only what a run says of itself is shown: not its parameters, which stand in the ranking page.
run() {
    local log=$parts/log
    if ! "$root/headless" run "stillwater:$1" -- "${@:2}" >"$log" 2>&1; then
        cat "$log" >&2
        echo "demo: stillwater:$1 failed" >&2
        exit 1
    fi
}

look_at() {
    local purpose=$1 classes=$2 page=$3 name=${1// /_} sites surface
    mapfile -t sites < <(site_parameters "$purpose")
    mapfile -t surface < <(surface_parameters "$purpose" "$classes")
    echo "demo: $purpose"
    run rankcandidates "${sites[@]}" "${surface[@]}" "OUTPUT=$parts/candidates_$name.gpkg" "OUTPUT_HTML=$folder/$page"
    run surfacequality "${sites[@]}" "${surface[@]}" "OUTPUT=$parts/sectors_$name.gpkg"
    run footprints "${sites[@]}" "OUTPUT=$parts/footprints_$name.gpkg"
}

look_at "sea level" 1-2 ranking.html
look_at "lake level" 3 ranking_lake_level.html
look_at "snow depth" 41 ranking_snow_depth.html

# From the bare shoreline, without any candidates, to a site sheet: the model that ships with the plugin.
echo "demo: from the shoreline to a site sheet"
step=yes        # newer QGIS names an output without its step
"$root/headless" help stillwater:shoretosheet 2>/dev/null | grep -q '^sheet:PRINT' || step=
out() { printf '%s' "${step:+$1:}$2=$3"; }
run shoretosheet "SHORE=$layers/coast.gpkg|layername=shoreline|subset=kind='sea'" SIDE=left SPACING=150 OFFSET=3 \
    "DEM=$layers/elevation.tif" DEM_WATER=bed "LANDCOVER=$layers/landcover.tif" TARGET_CLASSES=1-2 \
    "AVOID=$layers/coast.gpkg|layername=avoid" AVOID_FIELD=share AVOID_NAME=name ANTENNA_HEIGHT=4 HEIGHT_MIN=3 \
    HEIGHT_MAX=6 LEVEL_LOW=-1.1 LEVEL_HIGH=1.1 RADIUS=20 BEST=1 "IMAGERY=$layers/aerial.tif" \
    "$(out rank RANKED "$parts/ranked.gpkg")" "$(out improve IMPROVED "$parts/improved.gpkg")" \
    "$(out sheet SHEET "$folder/site_sheet.html")" "$(out sheet PRINT "$folder/site_sheet.pdf")" \
    "$(out sheet MASK "$folder/site_mask.csv")"
# The Python that QGIS uses, whatever else is first in PATH; no statistics files beside the rasters.
mkdir -m 700 "$parts/run"
XDG_CONFIG_HOME=$parts/xdg XDG_DATA_HOME=$parts/xdg XDG_RUNTIME_DIR=$parts/run GDAL_PAM_ENABLED=NO \
    PYTHONDONTWRITEBYTECODE=1 /usr/bin/python3 -W ignore::DeprecationWarning \
    "$layers/demo.py" "$parts" "$folder"
