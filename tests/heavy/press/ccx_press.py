#!/usr/bin/env python3
"""Presses one strip with CalculiX: plane strain, rigid dies, large strains, then the free springback shape.

    ccx_press.py cases/step.json --out results/step.json [--work DIR] [--nt 4] [--h 0.15]

The faces of the dies are an elastic foundation: pressure = stiffness x depth, from the case. A run that does not converge is written as such, with what was reached.
"""

import argparse
import json
import math
import os
import re
import subprocess
import sys
import tempfile
import time

import numpy as np

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import shape  # noqa: E402

DIE_HALF_WIDTH = 0.6  # the strip is 1 mm wide (z from -0.5 to 0.5); the dies stand out so no edge is ever hit


# ---------------------------------------------------------------- mesh
def die_points(profile, arc_step_deg=4.0, line_step=1.5):
    """(x, y, heading) at every corner and middle node of the quadratic faces along a profile."""
    points = []
    for piece in shape.chain(profile):
        if piece["kind"] == "line":
            n = max(1, math.ceil(piece["length"] / line_step - 1e-9))
        else:
            n = max(2, math.ceil(math.degrees(abs(piece["turn"])) / arc_step_deg - 1e-9))
        for k in range(2 * n + 1):
            if points and k == 0:
                continue
            (x, y), h = shape.point_at(piece, piece["length"] * k / (2 * n))
            points.append((x, y, h))
    return points


def die_mesh(profile, solid_side, first_node, first_element):
    """C3D20 bricks behind a profile. solid_side: -1 right of the heading (lower die), +1 left (upper die)."""
    radii = [p["radius"] for p in shape.chain(profile) if p["kind"] == "arc"]
    depth = min([0.3] + [r / 2 for r in radii])
    points = die_points(profile)
    nodes, number = {}, {}

    def node(i, row, z):
        key = (i, row, z)
        if key not in number:
            x, y, h = points[i]
            d = solid_side * depth * row / 2
            number[key] = first_node + len(number)
            nodes[number[key]] = (x - d * math.sin(h), y + d * math.cos(h), z * DIE_HALF_WIDTH)
        return number[key]

    elements = []
    for e in range((len(points) - 1) // 2):
        a, m, b = 2 * e, 2 * e + 1, 2 * e + 2
        # counter-clockwise as seen from +z, and the side that is the working face
        if solid_side < 0:
            corners, mids, face = [(a, 2), (b, 2), (b, 0), (a, 0)], [(m, 2), (b, 1), (m, 0), (a, 1)], "S5"
        else:
            corners, mids, face = [(a, 0), (b, 0), (b, 2), (a, 2)], [(m, 0), (b, 1), (m, 2), (a, 1)], "S3"
        row = [node(i, r, -1) for i, r in corners] + [node(i, r, 1) for i, r in corners]
        row += [node(i, r, -1) for i, r in mids] + [node(i, r, 1) for i, r in mids]
        row += [node(i, r, 0) for i, r in corners]
        elements.append((first_element + e, row, face))
    return nodes, elements


def stations(length, fine_half, h, coarse):
    """Element ends along the strip, symmetric about the middle: h within fine_half, growing to `coarse` x h."""
    half = length / 2
    fine_half = min(fine_half, half)
    n = math.ceil(fine_half / h - 1e-9)
    right = [fine_half * k / n for k in range(n + 1)]
    rest = half - fine_half
    if rest > 1e-9:
        sizes, size, total = [], h, 0.0
        while total < rest:
            size = min(size * 1.15, coarse * h)
            sizes.append(size)
            total += size
        scale = rest / total
        for size in sizes:
            right.append(right[-1] + size * scale)
        right[-1] = half
    return [-x for x in reversed(right[1:])] + right


def strip_mesh(case, nt, h, coarse):
    """One layer of quadratic bricks (C3D20R), 1 mm wide, every node held across. Plane strain without the tying
    equations that ccx makes for its own plane elements. `nt` must be even: the middle of the strip is a node then."""
    sheet = case["sheet"]
    (ax, ay), (bx, by) = sheet["start"]
    length = math.hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / length, (by - ay) / length
    ends = stations(length, case.get("fine_half", length / 2), h, coarse)
    s = []
    for p, q in zip(ends[:-1], ends[1:]):
        s += [p, (p + q) / 2]
    s.append(ends[-1])
    nx = len(ends) - 1
    nodes, number = {}, {}

    def node(i, j, z):
        key = (i, j, z)
        if key not in number:
            number[key] = len(number) + 1
            d, v = s[i] + length / 2, sheet["t"] * j / (2 * nt)
            nodes[number[key]] = (ax + d * ux - v * uy, ay + d * uy + v * ux, z / 2)
        return number[key]

    elements, bottom, top = [], [], []
    for i in range(nx):
        for j in range(nt):
            a, b = 2 * i, 2 * j
            corners = [(a, b), (a + 2, b), (a + 2, b + 2), (a, b + 2)]
            mids = [(a + 1, b), (a + 2, b + 1), (a + 1, b + 2), (a, b + 1)]
            row = [node(*k, -1) for k in corners] + [node(*k, 1) for k in corners]
            row += [node(*k, -1) for k in mids] + [node(*k, 1) for k in mids] + [node(*k, 0) for k in corners]
            e = len(elements) + 1
            elements.append((e, row))
            if j == 0:
                bottom.append(e)
            if j == nt - 1:
                top.append(e)
    columns = [(number[i, 0, -1], number[i, 2 * nt, -1]) for i in range(2 * nx + 1)]
    middle = nx - (nx % 2)  # even: a corner of elements; the mesh is symmetric, so this is the middle
    centre, top_middle = [[number[middle, j, z] for z in (-1, 1)] for j in (nt, 2 * nt)]
    return {"nodes": nodes, "elements": elements, "bottom": bottom, "top": top, "columns": columns,
            "flat": s, "centre": centre, "top_middle": top_middle}


# ---------------------------------------------------------------- deck
def hardening(material, last=3.0):
    """(true stress, plastic strain) rows of Swift's law, starting exactly at first yield."""
    k, n, y = material["K"], material["n"], material["yield"]
    eps0 = (y / k) ** (1 / n)
    strains = [0.0] + [10 ** (-4 + q * (math.log10(last) + 4) / 80) for q in range(81)]
    return [(k * (eps0 + e) ** n, e) for e in strains]


def rows(values, per=8):
    values = [str(v) for v in values]
    return "\n".join(", ".join(values[i:i + per]) for i in range(0, len(values), per))


def deck(case, mesh, options):
    """The ccx input: closing, lifting, contact removed."""
    lower_nodes, lower = die_mesh(case["lower"], -1, 100001, 100001)
    raised = json.loads(json.dumps(case["upper"]))
    raised["start"][1] += case["stroke"]
    upper_nodes, upper = die_mesh(raised, +1, 200001, 200001)
    out = ["*HEADING", case["name"], "*NODE, NSET=STRIP"]
    out += ["%d, %.12g, %.12g, %.12g" % (n, *xyz) for n, xyz in mesh["nodes"].items()]
    for name, nodes in (("LOWER", lower_nodes), ("UPPER", upper_nodes)):
        out.append("*NODE, NSET=%s" % name)
        out += ["%d, %.12g, %.12g, %.12g" % (n, *xyz) for n, xyz in nodes.items()]
    for name, elements in (("STRIP", mesh["elements"]), ("LOWER", lower), ("UPPER", upper)):
        out.append("*ELEMENT, TYPE=C3D20R, ELSET=%s" % name)
        for e, n, *_ in elements:
            out.append("%d, %s,\n%s" % (e, ", ".join(map(str, n[:10])), ", ".join(map(str, n[10:]))))
    faces = [n for pair in mesh["columns"] for n in pair]
    out += ["*NSET, NSET=FACES", rows(faces), "*NSET, NSET=UPPERONE", "200001",
            "*NSET, NSET=MIDDLE", rows(mesh["centre"])]
    m = case["material"]
    out += ["*MATERIAL, NAME=SHEET", "*ELASTIC", "%g, %g" % (m["E"], m["nu"]), "*PLASTIC"]
    out += ["%.9g, %.9g" % row for row in hardening(m)]
    out += ["*MATERIAL, NAME=DIE", "*ELASTIC", "2e5, 0.3", "*SOLID SECTION, ELSET=STRIP, MATERIAL=SHEET",
            "*SOLID SECTION, ELSET=LOWER, MATERIAL=DIE", "*SOLID SECTION, ELSET=UPPER, MATERIAL=DIE"]
    ends = [mesh["columns"][0][0], mesh["columns"][-1][0]]
    for dof in (1, 2):
        out += ["*ELEMENT, TYPE=SPRING1, ELSET=SPRING%d" % dof]
        out += ["%d, %d" % (300000 + 10 * dof + k, n) for k, n in enumerate(ends)]
        out += ["*SPRING, ELSET=SPRING%d" % dof, str(dof), "%g" % options.spring]
    out += ["*SURFACE, NAME=SBOTTOM"] + ["%d, S3" % e for e in mesh["bottom"]]
    out += ["*SURFACE, NAME=STOP"] + ["%d, S5" % e for e in mesh["top"]]
    out += ["*SURFACE, NAME=SLOWER"] + ["%d, %s" % (e, f) for e, _, f in lower]
    out += ["*SURFACE, NAME=SUPPER"] + ["%d, %s" % (e, f) for e, _, f in upper]
    out += ["*SURFACE INTERACTION, NAME=TOUCH", "*SURFACE BEHAVIOR, PRESSURE-OVERCLOSURE=LINEAR",
            "%g" % case["stiffness_n_mm3"], "*FRICTION", "%g, %g" % (case["friction"], case["stick_n_mm3"])]
    pairs = [("SBOTTOM", "SLOWER"), ("STOP", "SUPPER")]
    for slave, master in pairs:
        out += ["*CONTACT PAIR, INTERACTION=TOUCH, TYPE=SURFACE TO SURFACE", "%s, %s" % (slave, master)]
    out += ["*BOUNDARY", "LOWER, 1, 3", "UPPER, 1, 3", "STRIP, 3, 3"]
    if case["hold_x"]:
        out += ["*BOUNDARY"] + ["%d, 1, 1" % n for n in mesh["centre"]]
    prints = ["*NODE PRINT, NSET=UPPERONE, FREQUENCY=1", "U"]
    for name in ("UPPER", "LOWER", "MIDDLE"):
        prints += ["*NODE PRINT, NSET=%s, FREQUENCY=1, TOTALS=ONLY" % name, "RF"]
    prints += ["*NODE PRINT, NSET=FACES, FREQUENCY=1", "U"]
    first = 0.0
    for closing, most in closing_steps(case, options):
        share = most / (closing - first)
        out += ["*STEP, NLGEOM, INC=5000", "*STATIC", "%g, 1., 1e-7, %g" % (share / 2, share)]
        out += ["*BOUNDARY", "UPPER, 2, 2, %.9g" % -closing] + prints + ["*END STEP"]
        first = closing
    out += ["*STEP, NLGEOM, INC=5000", "*STATIC", "0.005, 1., 1e-7, 0.05"]
    out += ["*BOUNDARY", "UPPER, 2, 2, %.9g" % -(case["stroke"] - options.lift)] + prints + ["*END STEP"]
    heading = middle_heading(case)
    dof = 2 if abs(math.sin(heading)) > abs(math.cos(heading)) else 1  # the way the top moves when the middle turns
    out += ["*STEP, NLGEOM, INC=5000", "*STATIC", "0.5, 1., 1e-7, 0.5"]
    for pair in pairs:  # one card each: ccx reads only the first line under it
        out += ["*MODEL CHANGE, TYPE=CONTACT PAIR, REMOVE", "%s, %s" % pair]
    out += ["*BOUNDARY, FIXED"] + ["%d, 1, 2" % n for n in mesh["centre"]] + ["%d, %d, %d" % (n, dof, dof) for n in mesh["top_middle"]]
    out += prints + ["*EL PRINT, ELSET=STRIP, FREQUENCY=1", "PEEQ", "*END STEP"]
    return "\n".join(out) + "\n"


def closing_steps(case, options):
    """(closing at its end, largest increment) of each step, both mm: coarser first, finer over the last part.

    The first step must be next to nothing: in it, and only in it, ccx 2.20 takes the depth found at the start of an
    increment for an initial misfit and lets it carry no pressure (gencontelem_f2f.f, `springarea(2, ...)`).
    """
    return [(0.001, 0.001), (case["stroke"] - options.last, options.most), (case["stroke"], options.most / 2)]


def middle_heading(case):
    """Heading of the lower die under the middle of the strip: the strip's there when closed."""
    (ax, _), (bx, _) = case["sheet"]["start"]
    x = (ax + bx) / 2
    best = min(die_points(case["lower"]), key=lambda p: abs(p[0] - x))
    return best[2]


# ---------------------------------------------------------------- run and read
def run(folder, text, limit):
    with open(os.path.join(folder, "press.inp"), "w") as f:
        f.write(text)
    env = dict(os.environ, OMP_NUM_THREADS="1")
    began = time.time()
    with open(os.path.join(folder, "press.log"), "w") as log:
        code = subprocess.call(["timeout", str(limit), "ccx", "press"], cwd=folder, env=env, stdout=log, stderr=subprocess.STDOUT)
    with open(os.path.join(folder, "press.log")) as log:
        text = log.read()
    done = code == 0 and "Job finished" in text and "*ERROR" not in text
    version = re.search(r"Version\s+(\S+?),?\s", text)
    return {"done": done, "seconds": time.time() - began, "ccx": version.group(1) if version else "unknown"}


def reread(folder):
    """What the run left behind, without running again."""
    with open(os.path.join(folder, "press.log")) as log:
        text = log.read()
    return {"done": "Job finished" in text and "*ERROR" not in text, "seconds": 0.0,
            "ccx": re.search(r"Version\s+(\S+?),?\s", text).group(1)}


HEAD = re.compile(r"^\s*(\S.+?)\s*\(.*\)\s*for set (\S+) and time\s+(\S+)")


def read_dat(path):
    """Blocks of the .dat file: {(quantity, set): [(time, array)]}."""
    blocks, current = {}, None
    with open(path) as f:
        for line in f:
            head = HEAD.match(line)
            if head:
                name = head.group(1)
                current = []
                blocks.setdefault((name, head.group(2)), []).append((float(head.group(3)), current))
            elif line.strip() and current is not None:
                current.append([float(v) for v in line.split()])
    return {k: [(t, np.array(v)) for t, v in b] for k, b in blocks.items()}


def at(blocks, key, when):
    return min(blocks[key], key=lambda b: abs(b[0] - when))


def columns_at(mesh, table):
    moved = {int(r[0]): r[1:3] for r in table}
    return np.array([[np.array(mesh["nodes"][n][:2]) + moved[n] for n in pair] for pair in mesh["columns"]])


def total(blocks, name, when):
    """Outside force on the nodes of a set (what holds or drives them), N per mm width: x and y."""
    return at(blocks, ("total force", name), when)[1][0][:2]


def curve(blocks, stroke, until):
    """(lift above closed, force on the upper die per mm width) of every increment up to a time."""
    force = {t: v for t, v in blocks[("total force", "UPPER")]}
    return [(stroke + float(v[0][2]), -float(force[t][0][1])) for t, v in blocks[("displacements", "UPPERONE")]
            if t <= until + 1e-9]


def deepest(profile, points, side):
    """How far the deepest point stands inside a die; side: +1 the strip lies left of the heading (lower die).

    Points beyond the profile's ends do not count.
    """
    track = np.array([(*p, h) for piece in shape.chain(profile)
                      for p, h in (shape.point_at(piece, piece["length"] * k / 400) for k in range(401))])
    depth = 0.0
    for p in points:
        i = np.argmin(((track[:, :2] - p) ** 2).sum(axis=1))
        x, y, h = track[i]
        if i not in (0, len(track) - 1):
            depth = max(depth, side * ((p[0] - x) * math.sin(h) - (p[1] - y) * math.cos(h)))
    return depth


def press(case, options, folder):
    mesh = strip_mesh(case, options.nt, options.h, options.coarse)
    result = {"case": case["name"], "units": "mm, degrees, N per mm width",
              "mesh": {"element": "C3D20R", "through_thickness": options.nt, "finest_length": options.h,
                       "elements": len(mesh["elements"])},
              "weak_spring_n_mm": options.spring, "lift_before_contact_is_removed": options.lift}
    ran = reread(folder) if options.reread else run(folder, deck(case, mesh, options), options.limit)
    blocks = read_dat(os.path.join(folder, "press.dat"))
    closed_time = float(len(closing_steps(case, options)))
    path = curve(blocks, case["stroke"], closed_time)
    got_closed = blocks[("displacements", "FACES")][-1][0] >= closed_time - 1e-9
    result["ccx_version"] = ran["ccx"]
    result["converged"] = {"closing": got_closed, "release": ran["done"]}
    result["lift_and_force"] = path
    if got_closed:
        result["closed_forces_xy"] = {key: list(total(blocks, name, closed_time)) for key, name in
                                      (("on_upper_die", "UPPER"), ("on_lower_die", "LOWER"), ("on_middle", "MIDDLE"))}
        closed = columns_at(mesh, at(blocks, ("displacements", "FACES"), closed_time)[1])
        result["deepest_inside"] = {"lower": deepest(case["lower"], closed[:, 0], 1),
                                    "upper": deepest(case["upper"], closed[:, 1], -1)}
        released = None
        if ran["done"]:
            result["forces_y_after_lift"] = {n: total(blocks, n.upper(), closed_time + 1)[1] for n in ("upper", "lower")}
            result["forces_y_after_removal"] = {n: total(blocks, n.upper(), closed_time + 2)[1] for n in ("upper", "lower")}
            released = columns_at(mesh, blocks[("displacements", "FACES")][-1][1])
            strain = [v for k, b in blocks.items() if k[1] == "STRIP" for v in b[-1:]]
            result["max_plastic_strain"] = strain[0][1][:, 2].max()
        result["derived"] = shape.measure(case, closed, released)
        result["columns"] = "one row each: place along the flat strip from its middle; x, y of the lower face, the middle " \
            "(half-way between the faces) and the upper face"
        for name, columns in (("closed_columns", closed), ("released_columns", released)):
            if columns is not None:
                result[name] = [[s, *low, *((low + up) / 2), *up] for s, (low, up) in zip(mesh["flat"], columns)]
    return result, ran["seconds"]


def rounded(value, digits):
    if isinstance(value, dict):
        return {k: rounded(v, digits) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [rounded(v, digits) for v in value]
    if isinstance(value, (float, np.floating)):
        return round(float(value), digits) + 0.0
    return value


def write(path, result):
    text = json.dumps(result, indent=1)
    text = re.sub(r"\[\s+((?:-?[\d.e+-]+,?\s+)+)\]", lambda m: "[" + ", ".join(m.group(1).replace(",", " ").split()) + "]", text)
    with open(path, "w") as f:
        f.write(text + "\n")


def main():
    p = argparse.ArgumentParser()
    p.add_argument("case")
    p.add_argument("--out")
    p.add_argument("--work")
    p.add_argument("--nt", type=int, default=4, help="elements through the thickness, even")
    p.add_argument("--h", type=float, default=0.25, help="finest element length, in thicknesses")
    p.add_argument("--coarse", type=float, default=2.0)
    p.add_argument("--spring", type=float, default=0.001)
    p.add_argument("--lift", type=float, default=0.5, help="lift of the upper die before contact is removed")
    p.add_argument("--most", type=float, default=0.02, help="largest increment, mm; half of it over the last part")
    p.add_argument("--last", type=float, default=0.3, help="length of the last part, mm")
    p.add_argument("--limit", type=float, default=3600, help="stop ccx after so many seconds")
    p.add_argument("--reread", action="store_true", help="only read what an earlier run left in --work")
    options = p.parse_args()
    with open(options.case) as f:
        case = json.load(f)
    folder = options.work or tempfile.mkdtemp()
    os.makedirs(folder, exist_ok=True)
    options.h *= case["sheet"]["t"]
    result, seconds = press(case, options, folder)
    result = rounded(result, 6)
    if options.out:
        write(options.out, result)
    print(json.dumps({k: v for k, v in result.items() if "columns" not in k and k != "lift_and_force"}, indent=1))
    print("last of the curve", result["lift_and_force"][-1], "most", max(f for _, f in result["lift_and_force"]))
    print("run time %.0f s" % seconds)


if __name__ == "__main__":
    main()
