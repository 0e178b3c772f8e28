#!/usr/bin/env bash
# Blocks of dies under patches of traction by a general finite-element library, against what is kept beside it. Installs into
# tests/heavy/.venv; needs python3 and a package index. A minute.
#   tests/heavy/block/run.sh [--write]     --write: keep the new answers
set -euo pipefail
cd "$(dirname "$0")"
venv=../.venv
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/pip" install --quiet --disable-pip-version-check -r ../requirements.txt
"$venv/bin/python" block.py "$@"
