#!/usr/bin/env bash
# Heavy check: reads coldstep's files with independent programs (ezdxf for DXF, trimesh for STL and 3MF, lib3mf in its
# strict mode for 3MF, OpenCascade for STEP). Installs them into tests/heavy/.venv; needs python3, node
# and their package indexes.
set -euo pipefail
cd "$(dirname "$0")/../.."
venv=tests/heavy/.venv
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/heavy/requirements.txt
# The report's 3D view is built anew and must be the one that is checked in.
(cd src/output/viewer && npm ci --ignore-scripts --no-audit --no-fund --loglevel=error && node build.mjs --check)
cargo build --release --locked --quiet
export COLDSTEP_KEPT=off
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
for part in examples/*.toml tests/heavy/parts/*.toml; do
  name=$(basename "$part" .toml)
  target/release/coldstep make "$part" --out "$work/$name" >/dev/null 2>"$work/notes.txt"
  target/release/coldstep blank "$part" --json >"$work/$name.blank.json" 2>/dev/null
  target/release/coldstep dies "$part" --json >"$work/$name.dies.json" 2>/dev/null
done
"$venv/bin/python" tests/heavy/read_files.py "$work"
