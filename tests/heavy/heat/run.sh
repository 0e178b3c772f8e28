#!/usr/bin/env bash
# Heavy checks of the heat analysis: times against scipy and numpy on the same numbers.
# Installs into tests/heavy/.venv; needs python3 and a package index.
set -euo pipefail
cd "$(dirname "$0")/../../.."
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 MKL_NUM_THREADS=1
venv=tests/heavy/.venv
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/heavy/requirements.txt
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
COLDSTEP_HEAT_EXPORT="$work" cargo bench --locked --quiet --bench heat
"$venv/bin/python" tests/heavy/heat/bench.py "$work"
