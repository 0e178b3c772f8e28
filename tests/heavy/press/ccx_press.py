#!/usr/bin/env python3
"""Presses one strip with CalculiX: plane strain, rigid dies, large strains, then the free springback shape.

    ccx_press.py cases/step.json --out results/step.json [--work DIR] [--nt 4] [--h 0.15] [--stiffness 4e5]

A run that does not converge is written as such, with what was reached.
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


def strip_mesh(case, nt, h, coarse, element):
    """One layer of bricks, 1 mm wide, every node held across: C3D20R (quadratic) or C3D8I (linear, incompatible
    modes). Plane strain without the tying equations that ccx makes for its own plane elements."""
    quadratic = element == "C3D20R"
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
            if quadratic:
                row += [node(*k, -1) for k in mids] + [node(*k, 1) for k in mids] + [node(*k, 0) for k in corners]
            e = len(elements) + 1
            elements.append((e, row))
            if j == 0:
                bottom.append(e)
            if j == nt - 1:
                top.append(e)
    step = 1 if quadratic else 2
    columns = [(number[i, 0, -1], number[i, 2 * nt, -1]) for i in range(0, 2 * nx + 1, step)]
    middle = nx - (nx % 2)  # even: a corner of elements; the mesh is symmetric, so this is the middle
    hold = [[number[middle, j, z] for z in (-1, 1)] for j in (0, 2 * nt)]
    centre = [number[middle, nt, z] for z in (-1, 1)] if nt % 2 == 0 else hold[0]
    return {"nodes": nodes, "elements": elements, "bottom": bottom, "top": top, "columns": columns,
            "hold": hold, "centre": centre}


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


def deck(case, mesh, options, steps, release):
    """The ccx input. `steps`: (closing at its end; first, least, most increment of step time; contact stiffness)."""
    lower_nodes, lower = die_mesh(case["lower"], -1, 100001, 100001)
    raised = json.loads(json.dumps(case["upper"]))
    raised["start"][1] += case["stroke"]
    upper_nodes, upper = die_mesh(raised, +1, 200001, 200001)
    out = ["*HEADING", case["name"], "*NODE, NSET=STRIP"]
    out += ["%d, %.12g, %.12g, %.12g" % (n, *xyz) for n, xyz in mesh["nodes"].items()]
    for name, nodes in (("LOWER", lower_nodes), ("UPPER", upper_nodes)):
        out.append("*NODE, NSET=%s" % name)
        out += ["%d, %.12g, %.12g, %.12g" % (n, *xyz) for n, xyz in nodes.items()]
    out.append("*ELEMENT, TYPE=%s, ELSET=STRIP" % options.element)
    out += [",\n".join([", ".join(map(str, [e] + n[:10]))] + ([", ".join(map(str, n[10:]))] if n[10:] else []))
            for e, n in mesh["elements"]]
    for name, elements in (("LOWER", lower), ("UPPER", upper)):
        out.append("*ELEMENT, TYPE=C3D20R, ELSET=%s" % name)
        for e, n, _ in elements:
            out.append("%d, %s,\n%s" % (e, ", ".join(map(str, n[:10])), ", ".join(map(str, n[10:]))))
    faces = [n for pair in mesh["columns"] for n in pair]
    out += ["*NSET, NSET=FACES", rows(faces), "*NSET, NSET=UPPERONE", "200001"]
    m = case["material"]
    out += ["*MATERIAL, NAME=SHEET", "*ELASTIC", "%g, %g" % (m["E"], m["nu"]), "*PLASTIC"]
    out += ["%.9g, %.9g" % row for row in hardening(m)]
    if options.density > 0:
        out += ["*DENSITY", "%g" % options.density]
    out += ["*MATERIAL, NAME=DIE", "*ELASTIC", "2e5, 0.3", "*DENSITY", "%g" % (options.density or 1e-9),
            "*SOLID SECTION, ELSET=STRIP, MATERIAL=SHEET",
            "*SOLID SECTION, ELSET=LOWER, MATERIAL=DIE", "*SOLID SECTION, ELSET=UPPER, MATERIAL=DIE"]
    if options.spring > 0:
        ends = [mesh["columns"][0][0], mesh["columns"][-1][0]]
        for dof in (1, 2):
            out += ["*ELEMENT, TYPE=SPRING1, ELSET=SPRING%d" % dof]
            out += ["%d, %d" % (300000 + 10 * dof + k, n) for k, n in enumerate(ends)]
            out += ["*SPRING, ELSET=SPRING%d" % dof, str(dof), "%g" % (options.spring)]
    out += ["*SURFACE, NAME=SBOTTOM"] + ["%d, S3" % e for e in mesh["bottom"]]
    out += ["*SURFACE, NAME=STOP"] + ["%d, S5" % e for e in mesh["top"]]
    out += ["*SURFACE, NAME=SLOWER"] + ["%d, %s" % (e, f) for e, _, f in lower]
    out += ["*SURFACE, NAME=SUPPER"] + ["%d, %s" % (e, f) for e, _, f in upper]
    out += ["*SURFACE INTERACTION, NAME=TOUCH", "*SURFACE BEHAVIOR, PRESSURE-OVERCLOSURE=LINEAR",
            "%g" % steps[0][4]]
    if case["friction"] > 0:
        out += ["*FRICTION", "%g, %g" % (case["friction"], options.stick)]
    pairs = [("SBOTTOM", "SLOWER"), ("STOP", "SUPPER")]
    for slave, master in pairs:
        out += ["*CONTACT PAIR, INTERACTION=TOUCH, TYPE=%s" % options.contact, "%s, %s" % (slave, master)]
    out += ["*BOUNDARY", "LOWER, 1, 3", "UPPER, 1, 3", "STRIP, 3, 3"]
    low, up = mesh["hold"]
    if case.get("hold_x"):
        out += ["*BOUNDARY"] + ["%d, 1, 1" % n for n in mesh["centre"]]
    stiffness = steps[0][4]
    for closing, first, least, most, wanted in steps:
        out += ["*STEP, NLGEOM, INC=2000"]
        if wanted != stiffness:
            stiffness = wanted
            out += ["*CHANGE SURFACE BEHAVIOR, INTERACTION=TOUCH, PRESSURE-OVERCLOSURE=LINEAR", "%g" % stiffness]
        out += ["*DYNAMIC, ALPHA=-0.3" if options.density > 0 else "*STATIC", "%g, 1., %g, %g" % (first, least, most)]
        out += ["*BOUNDARY", "UPPER, 2, 2, %.9g" % -closing]
        out += ["*NODE PRINT, NSET=UPPERONE, FREQUENCY=1", "U",
                "*NODE PRINT, NSET=UPPER, FREQUENCY=1, TOTALS=ONLY", "RF",
                "*NODE PRINT, NSET=FACES, FREQUENCY=1", "U", "*END STEP"]
    if release:
        heading = middle_heading(case)
        dof = 2 if abs(math.sin(heading)) > abs(math.cos(heading)) else 1
        back = case.get("retract", options.retract)
        prints = ["*NODE PRINT, NSET=UPPERONE, FREQUENCY=1", "U",
                  "*NODE PRINT, NSET=UPPER, FREQUENCY=1, TOTALS=ONLY", "RF",
                  "*NODE PRINT, NSET=LOWER, FREQUENCY=1, TOTALS=ONLY", "RF",
                  "*NODE PRINT, NSET=FACES, FREQUENCY=1", "U"]
        if back > 0:
            out += ["*STEP, NLGEOM, INC=2000", "*STATIC", "%g, 1., 1e-7, %g" % (0.01, 0.1)]
            out += ["*BOUNDARY", "UPPER, 2, 2, %.9g" % -(steps[-1][0] - back)]
            out += prints + ["*END STEP"]
        out += ["*STEP, NLGEOM, INC=2000", "*STATIC", "%g, 1., 1e-7, %g" % (0.5, 0.5)]
        out += ["*MODEL CHANGE, TYPE=CONTACT PAIR, REMOVE"] + ["%s, %s" % p for p in pairs]
        out += ["*BOUNDARY, FIXED"] + ["%d, 1, 2" % n for n in low] + ["%d, %d, %d" % (n, dof, dof) for n in up]
        out += prints + ["*EL PRINT, ELSET=STRIP, FREQUENCY=1", "PEEQ", "*END STEP"]
    return "\n".join(out) + "\n"


def middle_heading(case):
    """Heading of the lower die under the middle of the strip: the strip's there when closed."""
    (ax, _), (bx, _) = case["sheet"]["start"]
    x = (ax + bx) / 2
    best = min(die_points(case["lower"]), key=lambda p: abs(p[0] - x))
    return best[2]


# ---------------------------------------------------------------- run and read
def run(folder, text):
    with open(os.path.join(folder, "press.inp"), "w") as f:
        f.write(text)
    env = dict(os.environ, OMP_NUM_THREADS="1")
    began = time.time()
    with open(os.path.join(folder, "press.log"), "w") as log:
        code = subprocess.call(["ccx", "press"], cwd=folder, env=env, stdout=log, stderr=subprocess.STDOUT)
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


def curve(blocks):
    """(closing, force per mm width), closing counted from the start position."""
    force = {t: v for t, v in blocks[("total force", "UPPER")]}
    return [(t, -float(v[0][2]), -float(force[t][0][1])) for t, v in blocks[("displacements", "UPPERONE")]]


def closing_steps(case, end, options):
    """Most of the way briskly on soft contact, the last `slow` in small steps on stiffer and stiffer contact.

    Flats come flush with next to no pressure, where a stiff law switches on and off and never settles.
    """
    slow, soft, hard = case.get("slow", 0.3), options.soft, options.stiffness
    brisk, careful = case.get("brisk", 0.5) * end, 0.004
    steps = [(brisk, 0.002, 1e-7, options.most, soft),
             (end - slow, careful / (end - slow - brisk), 1e-7, careful / (end - slow - brisk), soft)]
    for k in (1, 2, 3):
        steps.append((end - slow * (1 - k / 3), 0.01, 1e-7, 0.1 if k < 3 else 0.05, soft * (hard / soft) ** (k / 3)))
    return steps


def press(case, options, folder):
    mesh = strip_mesh(case, options.nt, options.h, options.coarse, options.element)
    limit = case["end"].get("max_force")
    result = {"case": case["name"], "units": "mm, N, MPa; force in N per mm width",
              "mesh": {"element": options.element, "through_thickness": options.nt, "finest_length": options.h,
                       "elements": len(mesh["elements"])},
              "contact": {"stiffness_at_end": options.stiffness, "stiffness_on_the_way": options.soft, "stick_slope": options.stick, "weak_spring": options.spring,
                          "retract_before_removal": options.retract}}
    seconds = 0.0
    end, note = case["stroke"], "closed position"
    steps = closing_steps(case, end, options)
    first = None
    if limit:
        # first pass: a little beyond closed, only to find where the limit is met
        steps.append((end + 0.01, 0.02, 1e-6, 0.05, options.stiffness))
        first = run(folder, deck(case, mesh, options, steps, release=False))
        seconds += first["seconds"]
        path = curve(read_dat(os.path.join(folder, "press.dat")))
        over = [k for k in range(1, len(path)) if path[k][2] >= limit]
        if over:
            (_, c0, f0), (_, c1, f1) = path[over[0] - 1], path[over[0]]
            end = c0 + (limit - f0) / (f1 - f0) * (c1 - c0)
            note = "force limit"
        else:
            end, note = path[-1][1], "force limit not met; went as far as the first pass got"
        steps = closing_steps(case, end, options)
    ran = run(folder, deck(case, mesh, options, steps, release=True)) if not options.reread else reread(folder)
    seconds += ran["seconds"]
    blocks = read_dat(os.path.join(folder, "press.dat"))
    path = curve(blocks)
    closed_time = float(len(steps))
    got_closed = path[-1][0] >= closed_time - 1e-9
    result["ccx_version"] = ran["ccx"]
    result["end"] = note
    result["converged"] = {"closing": got_closed, "release": ran["done"]}
    forward = [(c, f) for t, c, f in path if t <= closed_time + 1e-9]
    result["closing_and_force"] = [[round(c, 5), round(f, 2)] for c, f in thin(forward, 150)]
    result["closing_at_end"], result["force_at_end"] = round(forward[-1][0], 6), round(forward[-1][1], 1)
    if got_closed:
        closed = columns_at(mesh, at(blocks, ("displacements", "FACES"), closed_time)[1])
        released = None
        if ran["done"]:
            last, table = blocks[("displacements", "FACES")][-1]
            released = columns_at(mesh, table)
            strain = [v for k, b in blocks.items() if k[1] == "STRIP" for v in b[-1:]]
            result["max_plastic_strain"] = round(float(strain[0][1][:, 2].max()), 4)
        result["derived"] = rounded(shape.measure(case, closed, released), 5)
        keep = range(0, len(closed), max(1, len(closed) // 160))
        th = shape.thickness(closed)
        s = [math.dist(mesh["nodes"][mesh["columns"][0][0]], mesh["nodes"][a]) for a, _ in mesh["columns"]]
        result["shape_columns"] = "[lower x, lower y, upper x, upper y]"
        result["closed_shape"] = [[round(float(v), 4) for v in closed[i].ravel()] for i in keep]
        if released is not None:
            result["released_shape"] = [[round(float(v), 4) for v in released[i].ravel()] for i in keep]
        result["thickness_along_flat_strip"] = [[round(s[i], 3), round(float(th[i]), 4)] for i in keep]
    return result, seconds


def thin(points, most):
    """At most `most` of the points, the last always among them."""
    stride = max(1, math.ceil(len(points) / most))
    kept = points[::stride]
    return kept if kept[-1] == points[-1] else kept + [points[-1]]


def rounded(value, digits):
    if isinstance(value, dict):
        return {k: rounded(v, digits) for k, v in value.items()}
    if isinstance(value, list):
        return [rounded(v, digits) for v in value]
    return round(float(value), digits)


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
    p.add_argument("--element", choices=["C3D20R", "C3D8I", "C3D8"], default="C3D20R")
    p.add_argument("--nt", type=int, default=4)
    p.add_argument("--h", type=float, default=0.25)
    p.add_argument("--coarse", type=float, default=2.0)
    p.add_argument("--stiffness", type=float, default=2e5)
    p.add_argument("--soft", type=float, default=2e4)
    p.add_argument("--density", type=float, default=0.0, help="t/mm3 for inertia while closing; 0: static")
    p.add_argument("--stick", type=float, default=1e3)
    p.add_argument("--contact", default="SURFACE TO SURFACE")
    p.add_argument("--spring", type=float, default=0.01)
    p.add_argument("--retract", type=float, default=0.015)
    p.add_argument("--most", type=float, default=0.02)
    p.add_argument("--reread", action="store_true", help="only read what an earlier run left in --work (closed ends)")
    options = p.parse_args()
    with open(options.case) as f:
        case = json.load(f)
    folder = options.work or tempfile.mkdtemp()
    os.makedirs(folder, exist_ok=True)
    result, seconds = press(case, options, folder)
    if options.out:
        write(options.out, result)
    print(json.dumps({k: result.get(k) for k in ("case", "converged", "end", "closing_at_end", "force_at_end", "derived")}, indent=1))
    print("run time %.0f s" % seconds)


if __name__ == "__main__":
    main()
