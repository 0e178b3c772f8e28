#!/usr/bin/env bash
# Presses one case with CalculiX and prints its numbers beside the kept ones. Installs calculix-ccx (as root, Debian)
# and numpy (into tests/heavy/.venv). A case takes 4 to 20 minutes.
#   tests/heavy/press/run.sh [case]     default: step-60-soft-gap105
set -euo pipefail
cd "$(dirname "$0")"
case=${1:-step-60-soft-gap105}
command -v ccx >/dev/null || apt-get install -y --quiet calculix-ccx >/dev/null
venv=../.venv
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/pip" install --quiet --disable-pip-version-check numpy
new=$(mktemp)
trap 'rm -f "$new"' EXIT
"$venv/bin/python" ccx_press.py "cases/$case.json" --out "$new" >/dev/null
"$venv/bin/python" - "results/$case.json" "$new" <<'PY'
import json, sys
kept, new = (json.load(open(path)) for path in sys.argv[1:])
worst = 0.0
def walk(a, b, name):
    global worst
    if isinstance(a, dict):
        for key in a:
            walk(a[key], b[key], name + "." + key)
    elif isinstance(a, list):
        for i, (x, y) in enumerate(zip(a, b)):
            walk(x, y, "%s[%d]" % (name, i))
    else:
        worst = max(worst, abs(a - b))
        print("%-45s kept %10.5f now %10.5f" % (name, a, b))
walk(kept["derived"], new["derived"], "")
print("largest difference %.6f" % worst)
sys.exit(worst > 0.01)
PY
