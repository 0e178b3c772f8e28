"""Reads every DXF, STL, 3MF, STEP and PNG that coldstep made and compares it with coldstep's own JSON.

The readers are independent of coldstep: ezdxf audits and measures the DXF, trimesh judges the STL and the 3MF, lib3mf
reads the 3MF in its strict mode, OpenCascade reads the STEP files and integrates their volumes.
"""

import io
import json
import math
import pathlib
import re
import sys
import zipfile

import ezdxf
import lib3mf
import trimesh
from ezdxf import bbox
from OCP.BRep import BRep_Tool
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.Bnd import Bnd_Box
from OCP.BRepBndLib import BRepBndLib
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.ShapeAnalysis import ShapeAnalysis_ShapeTolerance
from OCP.STEPControl import STEPControl_Reader
from OCP.TopAbs import TopAbs_FACE, TopAbs_SHELL, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from PIL import Image

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


def read_png(name, content, size):
    picture = Image.open(io.BytesIO(content))
    picture.load()
    check(picture.format == "PNG" and picture.size == size, f"{name}: PNG of {picture.size}")
    shades = {shade for _, shade in picture.convert("L").getcolors(256)}
    check(len(shades) > 20, f"{name}: {len(shades)} greys")
    check(picture.text.get("Software") == "written by coldstep", f"{name}: {dict(picture.text)}")


def read_threemf(folder, part, dies):
    path = folder / "dies.3mf"
    name = f"{folder.name} 3MF"
    with zipfile.ZipFile(path) as archive:
        check(archive.testzip() is None, f"{name}: archive is sound")
        check(archive.comment == b"written by coldstep", f"{name}: comment {archive.comment}")
        dates = {entry.date_time for entry in archive.infolist()}
        check(dates == {(1980, 1, 1, 0, 0, 0)}, f"{name}: no clock, {dates}")
        read_png(f"{name} thumbnail", archive.read("Metadata/thumbnail.png"), (256, 256))
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    warnings = [reader.GetWarning(i) for i in range(reader.GetWarningCount())]
    check(not warnings, f"{name}: strict reader warns of nothing {warnings}")
    check(model.GetUnit() == lib3mf.ModelUnit.MilliMeter, f"{name}: millimetres")
    check(model.HasPackageThumbnailAttachment(), f"{name}: has its thumbnail")
    group = model.GetMetaDataGroup()
    said = [group.GetMetaData(i) for i in range(group.GetMetaDataCount())]
    said = {data.GetName(): data.GetValue() for data in said}
    check(said.get("Title") == f"dies of {part}", f"{name}: title {said.get('Title')!r}")
    objects = model.GetMeshObjects()
    found = []
    while objects.MoveNext():
        one = objects.GetCurrentMeshObject()
        found.append(one.GetName())
        check(one.IsManifoldAndOriented() and one.IsValid(), f"{name}: {one.GetName()} is manifold")
    check(found == ["lower die", "upper die"], f"{name}: objects {found}")
    scene = trimesh.load(path)
    check(scene.units == "millimeter", f"{name}: units {scene.units}")
    check(len(scene.geometry) == 2, f"{name}: two solids")
    boxes = []
    for block in dies["blocks"]:
        key = f"{block['role']} die"
        mesh = scene.geometry[key]
        off = mesh.volume / block["volume_mm3"] - 1
        check(mesh.is_watertight and abs(off) < 1e-7, f"{name}: {key} volume off by {off:.1e}")
        node = next(n for n in scene.graph.nodes_geometry if scene.graph[n][1] == key)
        placed = mesh.copy().apply_transform(scene.graph[node][0])
        check(abs(placed.bounds[0][2]) < 1e-6, f"{name}: {key} rests on the bed")
        boxes.append(placed.bounds)
    apart = max(max(boxes[1][0][i] - boxes[0][1][i], boxes[0][0][i] - boxes[1][1][i]) for i in (0, 1))
    check(near(apart, 10.0, 1e-5), f"{name}: {apart:.4f} mm apart")


def parts_of(shape, kind):
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def read_step(path):
    name = f"{path.parent.name} {path.name}"
    reader = STEPControl_Reader()
    check(reader.ReadFile(str(path)) == IFSelect_RetDone, f"{name}: read")
    trouble = reader.WS().ModelCheckList(False)
    check(trouble.IsEmpty(False), f"{name}: reading finds nothing")
    check(reader.TransferRoots() == 1, f"{name}: one root")
    trouble = reader.WS().LastRunCheckList()
    check(trouble.IsEmpty(False), f"{name}: translation finds nothing")
    shape = reader.OneShape()
    solids = len(list(parts_of(shape, TopAbs_SOLID)))
    faces = len(list(parts_of(shape, TopAbs_FACE)))
    check(solids == 1, f"{name}: one solid of {faces} faces")
    check(BRepCheck_Analyzer(shape, True).IsValid(), f"{name}: valid")
    closed = [BRep_Tool.IsClosed_s(shell) for shell in parts_of(shape, TopAbs_SHELL)]
    check(closed == [True], f"{name}: closed")
    worst = ShapeAnalysis_ShapeTolerance().Tolerance(shape, 1)
    check(worst < 1e-6, f"{name}: edges meet within {worst:.1e} mm")
    wanted = float(re.search(r"'volume ([0-9.e+-]+) mm3'", path.read_text("ascii")).group(1))
    measured = GProp_GProps()
    error = BRepGProp.VolumeProperties_s(shape, measured, 1e-12)
    off = measured.Mass() / wanted - 1
    check(abs(off) < 1e-9, f"{name}: volume {wanted:.6f} mm3, off by {off:.1e} (quadrature {error:.0e})")
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    return wanted, (low.X(), low.Y(), low.Z(), high.X(), high.Y(), high.Z())


def read_steps(folder, blank, dies):
    for block in dies["blocks"]:
        wanted, box = read_step(folder / f"{block['role']}.step")
        # Meshes make up for a printer that is known to print too short; solids have the true size.
        size = sorted(box[i + 3] - box[i] for i in range(3))
        printed = sorted(block["size_mm"])
        scale = printed[2] / size[2]
        check(abs(scale - 1) < 0.01, f"{folder.name} {block['role']}: mesh over solid {scale:.5f}")
        off = block["volume_mm3"] / scale**3 / wanted - 1
        check(abs(off) < 1e-3, f"{folder.name} {block['role']}: mesh off by {off:.1e}")
        apart = max(abs(a * scale - b) for a, b in zip(size, printed))
        # Sizes of the document are rounded; a chord may miss the top of an arc.
        check(apart < 0.02, f"{folder.name} {block['role']}: sizes of STEP and mesh {apart:.4f} mm apart")
    _, box = read_step(folder / "plate.step")
    check(near(box[4] - box[1], blank["width_mm"], 1e-4), f"{folder.name}: plate {box[4] - box[1]:.4f} mm wide")


def main():
    work = pathlib.Path(sys.argv[1])
    folders = sorted(path for path in work.iterdir() if path.is_dir())
    for folder in folders:
        blank = json.loads((work / f"{folder.name}.blank.json").read_text())["blank"]
        document = json.loads((work / f"{folder.name}.dies.json").read_text())
        dies = document["dies"]
        read_dxf(folder, blank)
        read_stl(folder, dies)
        read_threemf(folder, document["part"]["name"], dies)
        read_steps(folder, blank, dies)
        read_png(f"{folder.name} dies.png", (folder / "dies.png").read_bytes(), (900, 600))
    check(len(folders) >= 3, f"{len(folders)} parts read")
    print(f"{len(failures)} failures")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
