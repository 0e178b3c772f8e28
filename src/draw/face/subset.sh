#!/bin/sh
# Makes face.ttf anew: Noto Sans Regular cut down to Latin, Greek and Cyrillic, without layout tables and hints.
# Needs npm and fontTools. The result is checked in; nobody who builds coldstep runs this.
set -eu
cd "$(dirname "$0")"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
(cd "$work" && npm pack --silent @expo-google-fonts/noto-sans@0.4.2 && tar xzf ./*.tgz)
python3 -m fontTools.subset "$work/package/400Regular/NotoSans_400Regular.ttf" \
    --unicodes=U+0020-007E,U+00A0-024F,U+02BC,U+02C6-02DD,U+0300-0304,U+0306-030C,U+0370-03FF,U+0400-052F,U+1E00-1EFF,U+2010-2027,U+202F-203E,U+2044,U+2070-208E,U+20A0-20BF,U+2116,U+2122,U+FFFD \
    --layout-features='' --no-hinting --desubroutinize --notdef-outline --name-IDs='0,1,2,3,4,5,6,13,14' \
    --drop-tables+=GSUB,GPOS,GDEF,STAT,DSIG,gasp,meta --no-recalc-timestamp --output-file=face.ttf
