"""Numbers of a pressed strip from its two faces: the one rule shared by everything that presses the same case.

A shape is a list of columns, each column the pair (lower face point, upper face point) of one cross-section of the
strip as it lay flat, ordered along the strip. `measure(case, closed, released)` says which columns belong to which
straight and which bend *from the closed shape and the lower die*, and then measures both shapes over those same
columns, so a number never changes because a window moved.

* mid-line: half-way between the two points of a column.
* die mid-line: the lower profile offset by half the sheet thickness towards the sheet.
* straight between two bends: the middle half of the die mid-line's straight; a straight with a bend on one side
  only: from 1.5 t to 5 t beyond the tangent point. Its heading is that of the total least squares line through 41
  points evenly spaced by column over the window.
* wall angle: heading of the wall less the heading of a flat. Flats to each other: last heading less first.
* rise: both flats' lines are cut with the wall's line (the two theoretical corners of the mid-line); the rise is
  the distance of these corners perpendicular to the mean heading of the flats.
* bend: the middle half of the die mid-line's arc (by angle). Radii are those of the least squares circle (geometric
  distances) through 41 points of the inner face, the mid-line and the outer face.
* thickness at a column: shortest distance from its lower point to the upper face, taken as a polyline.
"""

import math

import numpy as np


def chain(profile):
    """Pieces of a profile: dicts with start, heading (rad), length or radius and turn."""
    x, y = profile["start"]
    heading = math.radians(profile.get("heading_deg", 0.0))
    pieces = []
    for segment in profile["segments"]:
        if "line" in segment:
            length = segment["line"]
            pieces.append({"kind": "line", "start": (x, y), "heading": heading, "length": length})
            x, y = x + length * math.cos(heading), y + length * math.sin(heading)
        else:
            radius, turn = segment["arc"], math.radians(segment["turn_deg"])
            side = math.copysign(1.0, turn)
            cx, cy = x - side * radius * math.sin(heading), y + side * radius * math.cos(heading)
            pieces.append({"kind": "arc", "start": (x, y), "heading": heading, "radius": radius, "turn": turn,
                           "centre": (cx, cy), "length": radius * abs(turn)})
            heading += turn
            x, y = cx + side * radius * math.sin(heading), cy - side * radius * math.cos(heading)
    return pieces


def point_at(piece, s, offset=0.0):
    """Point and heading at distance s along a piece, moved `offset` to the left."""
    if piece["kind"] == "line":
        h = piece["heading"]
        x, y = piece["start"][0] + s * math.cos(h), piece["start"][1] + s * math.sin(h)
    else:
        side = math.copysign(1.0, piece["turn"])
        h = piece["heading"] + side * s / piece["radius"]
        cx, cy = piece["centre"]
        x, y = cx + side * piece["radius"] * math.sin(h), cy - side * piece["radius"] * math.cos(h)
    return (x - offset * math.sin(h), y + offset * math.cos(h)), h


def _sample(points, c):
    """Points at fractional columns c."""
    index = np.arange(len(points))
    return np.column_stack([np.interp(c, index, points[:, 0]), np.interp(c, index, points[:, 1])])


def _crossing(mid, point, heading):
    """Fractional column at which the mid-line crosses the normal of the die through `point`."""
    t = np.array([math.cos(heading), math.sin(heading)])
    n = np.array([-t[1], t[0]])
    along, across = (mid - point) @ t, np.abs((mid - point) @ n)
    best = None
    for i in np.flatnonzero((along[:-1] <= 0) & (along[1:] > 0)):
        f = -along[i] / (along[i + 1] - along[i])
        miss = across[i] + f * (across[i + 1] - across[i])
        if best is None or miss < best[0]:
            best = (miss, i + f)
    if best is None:
        raise ValueError("the strip does not reach over the window at %s" % (tuple(point),))
    return best[1]


def _line(points):
    centre = points.mean(axis=0)
    _, _, v = np.linalg.svd(points - centre)
    d = v[0] if v[0] @ (points[-1] - points[0]) > 0 else -v[0]
    return centre, d


def _circle(points):
    a = np.column_stack([2 * points, np.ones(len(points))])
    sol = np.linalg.lstsq(a, (points**2).sum(axis=1), rcond=None)[0]
    cx, cy, r = sol[0], sol[1], math.sqrt(max(sol[2] + sol[0] ** 2 + sol[1] ** 2, 0.0))
    for _ in range(20):
        dx, dy = points[:, 0] - cx, points[:, 1] - cy
        d = np.hypot(dx, dy)
        step = np.linalg.lstsq(np.column_stack([dx / d, dy / d, np.ones(len(d))]), d - r, rcond=None)[0]
        cx, cy, r = cx + step[0], cy + step[1], r + step[2]
        if np.abs(step).max() < 1e-12:
            break
    return r


def _degrees(d):
    return math.degrees(math.atan2(d[1], d[0]))


def _cut(a, b):
    (p, u), (q, v) = a, b
    s = np.linalg.solve(np.column_stack([u, -v]), q - p)
    return p + s[0] * u


def thickness(columns):
    """Shortest distance from each lower point to the upper face."""
    columns = np.asarray(columns, float)
    low, up = columns[:, 0], columns[:, 1]
    a, d = up[:-1], np.diff(up, axis=0)
    rel = low[:, None, :] - a[None]
    f = np.clip((rel * d).sum(-1) / (d * d).sum(-1), 0, 1)
    return np.sqrt(((rel - f[..., None] * d) ** 2).sum(-1)).min(axis=1)


def windows(case, closed):
    """Fractional columns (41 each) of every measured straight and bend."""
    t = case["sheet"]["t"]
    pieces = chain(case["lower"])
    closed = np.asarray(closed, float)
    mid = closed.mean(axis=1)
    bends, straights = case["measure"]["bends"], case["measure"]["straights"]
    ranges = {}
    for i in bends:
        ranges[i] = (0.25 * pieces[i]["length"], 0.75 * pieces[i]["length"])
    for i in straights:
        length = pieces[i]["length"]
        before, after = i - 1 in bends, i + 1 in bends
        if before and after:
            ranges[i] = (0.25 * length, 0.75 * length)
        elif after:
            ranges[i] = (length - 5 * t, length - 1.5 * t)
        else:
            ranges[i] = (1.5 * t, 5 * t)
    found = {}
    for i, ends in ranges.items():
        c = [_crossing(mid, *point_at(pieces[i], s, t / 2)) for s in ends]
        found[i] = np.linspace(c[0], c[1], 41)
    return found


def _numbers(case, columns, found):
    pieces = chain(case["lower"])
    columns = np.asarray(columns, float)
    low, up = columns[:, 0], columns[:, 1]
    mid = (low + up) / 2
    straights, bends = case["measure"]["straights"], case["measure"]["bends"]
    lines = {i: _line(_sample(mid, found[i])) for i in straights}
    heading = {i: _degrees(lines[i][1]) for i in straights}
    first, last = straights[0], straights[-1]
    out = {"headings_deg": [heading[i] for i in straights],
           "flats_to_each_other_deg": heading[last] - heading[first]}
    walls = straights[1:-1]
    if walls:
        out["wall_to_first_flat_deg"] = heading[walls[0]] - heading[first]
        out["wall_to_last_flat_deg"] = heading[walls[0]] - heading[last]
        mean = math.radians((heading[first] + heading[last]) / 2)
        normal = np.array([-math.sin(mean), math.cos(mean)])
        corners = _cut(lines[first], lines[walls[0]]), _cut(lines[last], lines[walls[-1]])
        out["rise"] = float((corners[1] - corners[0]) @ normal)
    out["bends"] = []
    for i in bends:
        inner, outer = (up, low) if pieces[i]["turn"] > 0 else (low, up)
        out["bends"].append({"inside_radius": _circle(_sample(inner, found[i])),
                             "mid_radius": _circle(_sample(mid, found[i])),
                             "outside_radius": _circle(_sample(outer, found[i]))})
    th = thickness(columns)
    out["min_thickness"] = float(th.min())
    for i, bend in zip(bends, out["bends"]):
        inside = th[int(math.ceil(found[i][0])):int(found[i][-1]) + 1]
        bend["min_thickness"] = float(inside.min())
    return out


def measure(case, closed, released=None):
    """Derived numbers of the closed and, if there is one, the released shape."""
    found = windows(case, closed)
    out = {"closed": _numbers(case, closed, found)}
    if released is not None:
        out["released"] = _numbers(case, released, found)
    return out
