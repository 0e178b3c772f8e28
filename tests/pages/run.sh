#!/usr/bin/env bash
# Looks at the report in a browser: Debian's chromium without a window, driven by playwright-core, pages from files only.
# Installs what it needs: chromium by apt where it is missing, the two packages of package-lock.json with scripts off.
# Usage: tests/pages/run.sh [program]; default: target/release/coldstep or target/debug/coldstep, built where missing.
set -euo pipefail
cd "$(dirname "$0")/../.."
if ! command -v chromium >/dev/null; then
  apt-get update -qq
  apt-get install -y -qq --no-install-recommends chromium >/dev/null
fi
[ -d tests/pages/node_modules/playwright-core ] && [ tests/pages/node_modules -nt tests/pages/package-lock.json ] ||
  (cd tests/pages && npm ci --ignore-scripts --no-audit --no-fund --loglevel=error && touch node_modules)
program=${1:-}
if [ -z "$program" ]; then
  cargo build --locked --quiet
  program=target/debug/coldstep
fi
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
make() { # name, part file, how; a refused part ends with 1, and its page is looked at all the same
  "$program" make "$2" --springback "$3" --out "$work/$1" >/dev/null 2>"$work/$1.notes" || [ $? -eq 1 ]
  [ -s "$work/$1/report.html" ] || { cat "$work/$1.notes" >&2; exit 1; }
}
for part in examples/*.toml; do make "$(basename "$part" .toml)" "$part" quick; done
make sketched examples/single-step.toml bend-by-bend
sed "0,/^name = /s|^name = .*|name = '</script><script>alert(1)</script>]]><img src=x>\" '|;s|^note = .*|note = '<img src=x onerror=alert(2)>'|" \
  examples/single-step.toml >"$work/hostile.toml"
make hostile "$work/hostile.toml" bend-by-bend
sed 's|^bed_mm = .*|bed_mm = [20, 20, 20]|' examples/single-step.toml >"$work/refused.toml"
make refused "$work/refused.toml" bend-by-bend
node tests/pages/look.mjs "$work"
