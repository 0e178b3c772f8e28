#!/usr/bin/env bash
# Heavy check of what is printed: renders template.pdf (pdfium) and blank.svg (resvg), measures rulers and blanks on the
# pixels, and lets qpdf look at every PDF. Installs all three into tests/heavy/.venv; needs python3 and a package index.
set -euo pipefail
cd "$(dirname "$0")/../../.."
venv=tests/heavy/.venv
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/heavy/paper/requirements.txt
cargo build --release --locked --quiet
coldstep=target/release/coldstep
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
for part in tests/heavy/paper/parts/*.toml; do
  name=$(basename "$part" .toml)
  "$coldstep" blank "$part" --json --out "$work/$name" >"$work/$name.json" 2>"$work/notes.txt"
  "$coldstep" blank "$part" --json --paper letter --out "$work/$name-letter" >"$work/$name-letter.json" 2>"$work/notes.txt"
  "$coldstep" blank "$part" --json --printer-scale 98.7x101.3 --out "$work/$name-stretched" >"$work/$name-stretched.json" 2>"$work/notes.txt"
done
for part in examples/*.toml; do
  "$coldstep" make --springback bend-by-bend "$part" --out "$work/made-$(basename "$part" .toml)" >/dev/null 2>"$work/notes.txt"
done
"$venv/bin/python" tests/heavy/paper/measure.py "$work"
