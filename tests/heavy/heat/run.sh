#!/usr/bin/env bash
# Heavy checks of the heat analysis: formed plates by a general finite-element library, and times against scipy and numpy
# on the same numbers. Installs into tests/heavy/.venv; needs python3 and a package index. Three minutes.
#   tests/heavy/heat/run.sh [fem|bench]     default: both
set -euo pipefail
cd "$(dirname "$0")/../../.."
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 MKL_NUM_THREADS=1
venv=tests/heavy/.venv
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/heavy/requirements.txt
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
if [ "${1:-fem}" = fem ]; then
  COLDSTEP_HEAT_CASES="$work" cargo test --locked --quiet --test heat heat_case -- --ignored >/dev/null
  for case in board no-board; do
    echo "== $case"
    "$venv/bin/python" tests/heavy/heat/fem.py "$work/$case.json"
  done
fi
if [ "${1:-bench}" = bench ]; then
  COLDSTEP_HEAT_EXPORT="$work" cargo bench --locked --quiet --bench heat
  "$venv/bin/python" tests/heavy/heat/bench.py "$work"
fi
