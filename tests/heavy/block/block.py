"""The section of a die as an elastic block, by a general finite-element library: quadratic triangles in plane strain.

Writes how the face moves under a patch of traction to `results.json`, which `tests/pressing/reference_block.rs` compares with.
The mesh, the elements and the way a load is put on share nothing with the program.
"""

import json
import math
import os
import sys

import numpy as np
import skfem
from skfem.helpers import ddot, sym_grad, trace

FACE = [("line", 12.0), ("arc", 1.9, 65.0), ("line", 0.54), ("arc", 1.575, -65.0), ("line", 12.0)]
BASE_MM = 12.0
POISSON = 0.35
CASES = [
    {"name": "solid", "wall_youngs_mpa": 2000.0, "infill_youngs_mpa": 2000.0, "wall_mm": 0.0},
    {"name": "wall on infill", "wall_youngs_mpa": 2000.0, "infill_youngs_mpa": 600.0, "wall_mm": 1.6},
]
# A patch of traction: its middle along the face, its half length, x and z of what it is in the middle, MPa. cos² to both sides.
PATCHES = [
    {"middle_mm": 15.9, "half_mm": 1.0, "traction_mpa": [30.0, -50.0]},
    {"middle_mm": 9.0, "half_mm": 1.5, "traction_mpa": [10.0, -20.0]},
]
FINE_MM, STEP_MM = 0.05, 0.1


def chain():
    """Points and their lengths along the face."""
    x, z, heading, along = 0.0, 0.0, 0.0, 0.0
    points = [(0.0, x, z)]
    for kind, size, *turn in FACE:
        length = size if kind == "line" else size * math.radians(abs(turn[0]))
        parts = math.ceil(length / FINE_MM)
        for part in range(1, parts + 1):
            s = length * part / parts
            if kind == "line":
                at = (x + s * math.cos(heading), z + s * math.sin(heading))
            else:
                k = math.copysign(1.0 / size, turn[0])
                at = (
                    x + (math.sin(heading + k * s) - math.sin(heading)) / k,
                    z - (math.cos(heading + k * s) - math.cos(heading)) / k,
                )
            points.append((along + s, *at))
        (_, x, z), along = points[-1], along + length
        if kind == "arc":
            heading += math.radians(turn[0])
    return np.array(points)


def mesh(face):
    """Columns of triangles from the face to the back, finer towards the face."""
    depths, height = [0.0], STEP_MM
    while depths[-1] < BASE_MM:
        depths.append(depths[-1] + height)
        height *= 1.2
    shares = np.array(depths) / depths[-1]
    back = face[:, 2].min() - BASE_MM
    x = np.repeat(face[:, 1], len(shares))
    z = (face[:, 2, None] + (back - face[:, 2, None]) * shares).ravel()
    rows = len(shares)
    first = (np.arange(len(face) - 1)[:, None] * rows + np.arange(rows - 1)).ravel()
    one = np.stack([first, first + rows, first + rows + 1])
    other = np.stack([first, first + rows + 1, first + 1])
    return skfem.MeshTri(np.stack([x, z]), np.hstack([one, other])), back


def solve(case, face, grid, back):
    """Displacement of each point of the face under each patch."""
    basis = skfem.Basis(grid, skfem.ElementVector(skfem.ElementTriP2()))
    lines = np.stack([face[:-1, 1:], face[1:, 1:]], axis=1)

    def youngs(x, z):
        place = np.stack([x.ravel(), z.ravel()], axis=1)
        nearest = np.full(len(place), np.inf)
        for a, b in lines:
            share = np.clip(((place - a) @ (b - a)) / ((b - a) @ (b - a)), 0.0, 1.0)
            nearest = np.minimum(nearest, np.linalg.norm(place - a - share[:, None] * (b - a), axis=1))
        inside = nearest < case["wall_mm"]
        return np.where(inside, case["wall_youngs_mpa"], case["infill_youngs_mpa"]).reshape(x.shape)

    @skfem.BilinearForm
    def stiffness(u, v, w):
        e = w["youngs"]
        mu, lam = e / (2 * (1 + POISSON)), e * POISSON / ((1 + POISSON) * (1 - 2 * POISSON))
        return 2 * mu * ddot(sym_grad(u), sym_grad(v)) + lam * trace(sym_grad(u)) * trace(sym_grad(v))

    matrix = stiffness.assemble(basis, youngs=youngs(*basis.global_coordinates()))
    facets = grid.boundary_facets()
    known = {(round(x, 9), round(z, 9)): s for s, x, z in face}
    ends = grid.p[:, grid.facets[:, facets]]
    along = np.array(
        [[known.get((round(ends[0, e, f], 9), round(ends[1, e, f], 9)), np.nan) for f in range(len(facets))] for e in (0, 1)]
    )
    top = ~np.isnan(along).any(axis=0) & (np.abs(along[0] - along[1]) < 2 * FINE_MM)
    border = skfem.FacetBasis(grid, basis.elem, facets=facets[top])
    held = basis.get_dofs(lambda at: np.abs(at[1] - back) < 1e-9)
    # The length along the face is linear on each edge: found from the places of its points of integration.
    (sa, sb), (a, b) = along[:, top], ends[:, :, top].transpose(1, 0, 2)
    place = np.asarray(border.global_coordinates())
    share = ((place - a[:, :, None]) * (b - a)[:, :, None]).sum(0) / ((b - a) ** 2).sum(0)[:, None]
    s = sa[:, None] + (sb - sa)[:, None] * share
    moved = []
    nodes = {key: node for node, key in enumerate(zip(grid.p[0].round(9), grid.p[1].round(9)))}
    order = [nodes[(round(x, 9), round(z, 9))] for _, x, z in face]
    for patch in PATCHES:

        @skfem.LinearForm
        def load(v, w):
            off = (s - patch["middle_mm"]) / patch["half_mm"]
            shape = np.where(np.abs(off) < 1, np.cos(math.pi * off / 2) ** 2, 0.0)
            tx, tz = patch["traction_mpa"]
            return shape * (tx * v[0] + tz * v[1])

        u = skfem.solve(*skfem.condense(matrix, load.assemble(border), D=held))
        moved.append(u[basis.nodal_dofs[:, order]])
    return moved


def main():
    face = chain()
    grid, back = mesh(face)
    results = []
    for case in CASES:
        for patch, moved in zip(PATCHES, solve(case, face, grid, back)):
            places = patch["middle_mm"] + np.array([-3.0, -1.5, -0.8, -0.4, 0.0, 0.4, 0.8, 1.5, 3.0])
            rows = [
                [round(float(s), 4)] + [round(float(np.interp(s, face[:, 0], axis)), 7) for axis in moved]
                for s in places
            ]
            results.append({**case, **patch, "along_and_moved_mm": rows})
    path = os.path.join(os.path.dirname(os.path.abspath(__file__)), "results.json")
    kept = json.load(open(path)) if os.path.exists(path) and "--write" not in sys.argv else None
    if kept is None:
        with open(path, "w") as file:
            file.write("[\n" + ",\n".join(" " + json.dumps(result) for result in results) + "\n]\n")
        return
    worst = max(
        abs(x - y)
        for a, b in zip(kept, results)
        for p, q in zip(a["along_and_moved_mm"], b["along_and_moved_mm"])
        for x, y in zip(p, q)
    )
    print(f"largest difference from what is kept: {worst:.2e} mm")
    sys.exit(worst > 1e-5)


main()
