"""A formed plate in three dimensions, by a general finite-element library, against coldstep's answer.

Reads a case that `COLDSTEP_HEAT_CASES=DIR cargo test --test heat heat_case -- --ignored` wrote. The section is swept across the
width with its true bends: hexahedra, quadratic, several through the thickness. Pads are films on the underside with the
gap of each place, pipes films on the top, tops of parts and vapours one temperature each.
"""

import bisect
import json
import math
import sys
import time

import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as spl
import skfem
from skfem.helpers import dot, grad

AIR_W_MK = 0.028
"""Still air where a pad does not reach."""
MOST_APART_K = 0.05


class Strip:
    """The mid-line of the section."""

    def __init__(self, case):
        self.pieces, s = [], 0.0
        (x, z), heading = case["start_mm"], case["heading_rad"]
        for piece in case["chain"]:
            turn = piece.get("turn_rad", 0.0)
            length = piece.get("line_mm", 0.0) or piece["radius_mm"] * abs(turn)
            self.pieces.append((s, length, x, z, heading, turn / length))
            x, z, heading = self.on(self.pieces[-1], length)
            s += length
        self.length = s

    @staticmethod
    def on(piece, along):
        _, _, x, z, heading, curvature = piece
        if abs(curvature) < 1e-12:
            return x + along * math.cos(heading), z + along * math.sin(heading), heading
        now = heading + curvature * along
        return (
            x + (math.sin(now) - math.sin(heading)) / curvature,
            z - (math.cos(now) - math.cos(heading)) / curvature,
            now,
        )

    def at(self, s, n):
        """Place at arc s, n above the mid-line."""
        number = max(0, bisect.bisect_right([piece[0] for piece in self.pieces], s) - 1)
        piece = self.pieces[number]
        x, z, heading = self.on(piece, s - piece[0])
        return x - n * math.sin(heading), z + n * math.cos(heading)

    def s_of(self, x, n):
        """Arc where the face n above the mid-line is at plan place x."""
        low, high = 0.0, self.length
        for _ in range(80):
            middle = (low + high) / 2
            low, high = (middle, high) if self.at(middle, n)[0] < x else (low, middle)
        return (low + high) / 2


def spread(breaks, size):
    """Edges through all breaks, with so many between that none is longer than its size."""
    breaks = sorted(breaks)
    kept = [breaks[0]]
    for place in breaks[1:]:
        if place - kept[-1] > 1e-6:
            kept.append(place)
    edges = [kept[0]]
    for a, b in zip(kept, kept[1:]):
        count = max(1, math.ceil((b - a) / size((a + b) / 2) - 1e-9))
        edges += [a + (b - a) * (i + 1) / count for i in range(count)]
    return np.array(edges)


def solve(case, size_mm, layers):
    strip, half = Strip(case), case["thickness_mm"] / 2
    parts, pipes = case["parts"], case["pipes"]
    areas = []  # Arc and y range, and whether on top.
    for one in parts:
        areas.append(([strip.s_of(x, -half) for x in one["x_mm"]], one["y_mm"], False))
    for one in pipes:
        areas.append(([strip.s_of(x, half) for x in one["x_mm"]], one["y_mm"], True))

    def along(s):
        piece = next(p for p in reversed(strip.pieces) if p[0] <= s)
        # A bend in steps of at most 8 degrees.
        return size_mm if piece[5] == 0 else min(size_mm, math.radians(8) / abs(piece[5]))

    s_edges = spread(
        [0.0, strip.length] + [p[0] for p in strip.pieces] + [s for a in areas for s in a[0]], along
    )
    y_edges = spread(case["y_mm"] + [y for a in areas for y in a[1]], lambda _: size_mm)
    n_edges = np.linspace(-half, half, layers + 1)
    flat = skfem.MeshHex.init_tensor(s_edges, n_edges, y_edges)
    points = flat.p.copy()
    points[:2] = np.array([strip.at(s, n) for s, n in flat.p[:2].T]).T
    mesh = skfem.MeshHex(points, flat.t)
    centres = flat.p[:, flat.facets].mean(axis=1)
    bottom = np.flatnonzero(np.isclose(centres[1], -half))
    top = np.flatnonzero(np.isclose(centres[1], half))

    element = skfem.ElementHex2()
    basis = skfem.Basis(mesh, element)
    conducts = case["plate_w_mk"] / 1000

    @skfem.BilinearForm
    def inside(u, v, _):
        return conducts * dot(grad(u), grad(v))

    matrix = inside.assemble(basis)
    bare = {False: set(bottom), True: set(top)}
    columns, ports = [], []
    for number, (one, (s_range, y_range, on_top)) in enumerate(zip(parts + pipes, areas)):
        facets = top if on_top else bottom
        s, _, y = centres[:, facets]
        facets = facets[(s > s_range[0]) & (s < s_range[1]) & (y > y_range[0]) & (y < y_range[1])]
        bare[on_top] -= set(facets)
        face = skfem.FacetBasis(mesh, element, facets=facets)
        if on_top:
            film = np.full_like(face.dx, 1 / one["joint_mm2k_w"])
        else:
            gap = face.global_coordinates().value[1] - one["top_mm"]
            pad = np.minimum(np.maximum(gap, one["pad_least_mm"]), one["pad_mm"])
            air = np.maximum(gap - one["pad_mm"], 0)
            film = 1 / (one["pad_contact_mm2k_w"] + 1000 * pad / one["pad_w_mk"] + 1000 * air / AIR_W_MK)
            # Heat goes straight down: per area of plan.
            film = film * np.abs(face.normals.value[1])

        @skfem.BilinearForm
        def robin(u, v, w):
            return w.film * u * v

        @skfem.LinearForm
        def share(v, w):
            return w.film * v

        matrix = matrix + robin.assemble(face, film=film)
        columns.append(share.assemble(face, film=film))
        ports.append((film * face.dx).sum())
        if not on_top:
            area = (np.abs(face.normals.value[1]) * face.dx).sum()
            wanted = (one["x_mm"][1] - one["x_mm"][0]) * (one["y_mm"][1] - one["y_mm"][0])
            assert abs(area / wanted - 1) < 2e-3, (one["name"], area, wanted)
    losses = np.zeros(matrix.shape[0])
    for facets in bare.values():
        face = skfem.FacetBasis(mesh, element, facets=np.array(sorted(facets)))

        @skfem.BilinearForm
        def loss(u, v, _):
            return case["loss_w_m2k"] * 1e-6 * u * v

        one_loss = loss.assemble(face)
        matrix = matrix + one_loss
        losses += np.asarray(one_loss.sum(axis=0)).ravel()

    # Ports: tops of parts with their way to the board, vapours with theirs to the air; all above the air.
    board_k = case["board_c"] - case["air_c"]
    way, side = [], []
    for one in parts:
        series = one["inside_k_w"] + one["to_board_k_w"]
        way.append(1 / series)
        side.append((one["heat_w"] * one["to_board_k_w"] + board_k) / series)
    for one in pipes:
        way.append(1 / one["to_air_k_w"])
        side.append(one["other_heat_w"])
    across = sp.csc_matrix(-np.array(columns).T)
    whole = sp.bmat([[matrix, across], [across.T, sp.diags(np.array(ports) + way)]], format="csc")
    right = np.concatenate([np.zeros(matrix.shape[0]), side])
    factor = spl.splu(whole, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=dict(SymmetricMode=True))
    solution = factor.solve(right)
    field, at = solution[: matrix.shape[0]], solution[matrix.shape[0] :]
    into, tops = [], at[: len(parts)]
    for one, top_k in zip(parts, tops):
        into.append((one["heat_w"] * one["to_board_k_w"] + board_k - top_k) / (one["inside_k_w"] + one["to_board_k_w"]))
    inside_c = [case["air_c"] + t + q * one["inside_k_w"] for one, t, q in zip(parts, tops, into)]
    vapour_c = case["air_c"] + at[len(parts) :]
    taken = [at[len(parts) + i] / one["to_air_k_w"] - one["other_heat_w"] for i, one in enumerate(pipes)]
    lost = losses @ field
    print(
        f"elements of {size_mm} mm, {layers} through the sheet: {mesh.t.shape[1]} elements, {matrix.shape[0]} unknowns, "
        f"heat in less out {sum(into) - sum(taken) - lost:.1e} W"
    )
    return np.array(inside_c), np.array(into), vapour_c, lost


def main(path):
    case = json.load(open(path))
    answers = []
    for size_mm, layers in ((1.6, 1), (1.0, 2)):
        start = time.perf_counter()
        answers.append(solve(case, size_mm, layers))
        print(f"  {time.perf_counter() - start:.0f} s", file=sys.stderr)
    inside, into, vapour, lost = answers[-1]
    change = np.abs(inside - answers[-2][0]).max()
    print(f"finest mesh against the one before: inside temperatures moved {change:.3f} K at most\n")
    grid = case["grid"]
    print(f"coldstep: cells of {grid['cell_mm']} mm, {grid['nodes']} nodes, last refinement moved {grid['change_k']:.3f} K\n")
    print(f"{'part':8} {'gap, mm':>8} {'inside, C: ours':>16} {'elements':>9} {'apart, K':>9} {'W up: ours':>11} {'elements':>9}")
    apart = []
    for one, mesh_c, mesh_w in zip(case["parts"], inside, into):
        ours = one["ours"]
        apart.append(ours["inside_c"] - mesh_c)
        print(
            f"{one['name']:8} {ours['gap_mm']:8.3f} {ours['inside_c']:16.3f} {mesh_c:9.3f} {apart[-1]:9.3f} "
            f"{ours['into_plate_w']:11.3f} {mesh_w:9.3f}"
        )
    for one, mesh_c in zip(case["pipes"], vapour):
        ours = one["ours"]["vapour_c"]
        apart.append(ours - mesh_c)
        print(f"{one['name']:8} {'':8} {ours:16.3f} {mesh_c:9.3f} {apart[-1]:9.3f}")
    print(f"lost by bare faces: {case['lost_w']:.3f} W, elements {lost:.3f} W")
    hottest = int(np.argmax(inside))
    worst = np.abs(apart).max()
    print(f"hottest part {abs(apart[hottest]):.3f} K apart, any {worst:.3f} K\n")
    assert change < 0.05, change
    assert worst < MOST_APART_K, worst


if __name__ == "__main__":
    main(sys.argv[1])
