#!/bin/bash
# Collect the texts of the bench into the .ts files, and compile these into .qm files. Translate between two runs.
# Usage: plugin/i18n/make_translations.sh
set -euo pipefail
here=$(cd "$(dirname "$(readlink -f "${BASH_SOURCE[0]}")")" && pwd)
root=$(dirname "$(dirname "$here")")
"$root/.ci/setup" pyqt5-dev-tools qttools5-dev-tools >&2
cd "$here"
# The bench's labels are those of the algorithm's parameters.
scratch=$(mktemp -d); trap 'rm -rf "$scratch"' EXIT
QT_QPA_PLATFORM=offscreen PROJ_DATA=/usr/share/proj PYTHONIOENCODING=utf-8 /usr/bin/python3 collect_parameters.py \
    >"$scratch/parameters.py"
# without line numbers, so that a moved line is no change
pylupdate5 -noobsolete $(find ../bench -name "*.py" | LC_ALL=C sort) "$scratch/parameters.py" -ts stillwater_de.ts
sed -i '/^ *<location /d' stillwater_de.ts
lrelease -silent -nounfinished stillwater_de.ts -qm stillwater_de.qm
