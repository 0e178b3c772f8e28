"""Reads every DXF and STL that coldstep made and compares it with coldstep's own JSON.

The readers are independent of coldstep: ezdxf audits and measures the DXF, trimesh judges the STL.
"""

import json
import math
import pathlib
import sys

import ezdxf
import trimesh
from ezdxf import bbox

failures = []


def check(condition, words):
    print(("ok   " if condition else "FAIL ") + words)
    if not condition:
        failures.append(words)


def near(a, b, within):
    return math.isfinite(a) and abs(a - b) <= within


def read_dxf(folder, blank):
    document = ezdxf.readfile(folder / "blank.dxf")
    audit = document.audit()
    name = folder.name
    check(not audit.errors and not audit.fixes, f"{name}: DXF audit finds nothing")
    check(document.dxfversion == "AC1015", f"{name}: DXF is R2000")
    check(document.units == 4, f"{name}: DXF units are millimetres")
    model = document.modelspace()
    layers = {entity.dxf.layer for entity in model}
    check(layers <= {"outline", "hole", "bend", "tangent"}, f"{name}: DXF layers {sorted(layers)}")
    box = bbox.extents(model.query('*[layer=="outline"]'))
    check(
        near(box.size.x, blank["developed_length_mm"], 1e-4),
        f"{name}: outline is {box.size.x:.4f} mm long, blank {blank['developed_length_mm']}",
    )
    check(near(box.size.y, blank["width_mm"], 1e-4), f"{name}: outline is {box.size.y:.4f} mm wide")
    holes = model.query('*[layer=="hole"]')
    check(len(holes) == len(blank["holes"]), f"{name}: {len(holes)} holes")
    places = sorted({round(line.dxf.start.x, 4) for line in model.query('LINE[layer=="bend"]')})
    wanted = sorted({round(bend["centre_mm"], 4) for bend in blank["bends"]})
    check(
        len(places) == len(wanted) and all(near(a, b, 2e-4) for a, b in zip(places, wanted)),
        f"{name}: bend lines at {places}",
    )


def read_stl(folder, dies):
    for block in dies["blocks"]:
        mesh = trimesh.load(folder / block["file"])
        name = f"{folder.name} {block['role']}"
        check(mesh.is_watertight, f"{name}: watertight")
        check(mesh.is_winding_consistent, f"{name}: winding is consistent")
        check(mesh.body_count == 1, f"{name}: one body")
        check(len(mesh.faces) == block["triangles"], f"{name}: {len(mesh.faces)} triangles")
        off = mesh.volume / block["volume_mm3"] - 1
        check(abs(off) < 1e-5, f"{name}: volume {mesh.volume:.3f} mm3, off by {off:.1e}")
        size = mesh.extents
        check(
            all(near(a, b, 1e-3) for a, b in zip(size, block["size_mm"])),
            f"{name}: size {size.round(3).tolist()}",
        )
        check(mesh.bounds[0][2] >= -1e-6, f"{name}: stands on the bed")


def main():
    work = pathlib.Path(sys.argv[1])
    folders = sorted(path for path in work.iterdir() if path.is_dir())
    for folder in folders:
        blank = json.loads((work / f"{folder.name}.blank.json").read_text())
        dies = json.loads((work / f"{folder.name}.dies.json").read_text())
        read_dxf(folder, blank)
        read_stl(folder, dies)
    check(len(folders) >= 3, f"{len(folders)} parts read")
    print(f"{len(failures)} failures")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
