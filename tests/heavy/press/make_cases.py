#!/usr/bin/env python3
"""Writes cases/*.json: the presses' geometry from their few numbers."""

import json
import math
import os

METALS = {
    "soft": {"E": 117000.0, "nu": 0.34, "yield": 65.0, "K": 315.0, "n": 0.40},
    "half-hard": {"E": 117000.0, "nu": 0.34, "yield": 225.0, "K": 330.0, "n": 0.12},
}
T = 1.0
FOUNDATION = 2000.0  # N/mm3: pressure for each mm of depth, and stick slope
HOW = "middle of the strip held in x; both dies on foundations; upper die goes down by stroke, its closed place as drawn"


def case(name, metal, sheet, lower, upper, stroke, measure, stiffness=FOUNDATION, start="", fine_half=6.0):
    return {"name": name, "sheet": sheet, "material": METALS[metal], "friction": 0.1, "stiffness_n_mm3": stiffness,
            "stick_n_mm3": stiffness, "lower": lower, "upper": upper, "stroke": stroke, "hold_x": True,
            "how": "; ".join((start, HOW)), "fine_half": fine_half, "measure": measure}


def vee(metal):
    """Legs at 30 degrees either side, bottom mid radius 1.5, shoulders of radius 1, punch that fits the sheet."""
    a, wall = math.radians(30), 8.0
    half = 2 * math.sin(a) + wall * math.cos(a) + math.sin(a)
    deep = 2 * (1 - math.cos(a)) + wall * math.sin(a) + (1 - math.cos(a))
    punch_wall = 7.0
    lower = {"start": [-half - 6, deep], "heading_deg": 0.0, "segments": [
        {"line": 6.0}, {"arc": 1.0, "turn_deg": -30}, {"line": wall}, {"arc": 2.0, "turn_deg": 60}, {"line": wall},
        {"arc": 1.0, "turn_deg": -30}, {"line": 6.0}]}
    x = math.sin(a) + punch_wall * math.cos(a)
    upper = {"start": [-x, T + (1 - math.cos(a)) + punch_wall * math.sin(a)], "heading_deg": -30.0, "segments": [
        {"line": punch_wall}, {"arc": 1.0, "turn_deg": 60}, {"line": punch_wall}]}
    return case("vee-60-" + metal, metal, {"t": T, "start": [[-12.0, deep], [12.0, deep]]}, lower, upper, deep,
                {"straights": [2, 4], "bends": [3]}, start="starts level on the shoulders, punch just touching",
                fine_half=4.0)


def step(metal, degrees=60, t=T, inside=1.0, rise=3.0, clearance=0.0, stiffness=FOUNDATION, name=None):
    """Two equal bends, wall between them; the closed dies stand apart by `t + clearance`, half of it either side of
    the same mid-line, so the press is point-symmetric."""
    a, mid, flat, die_flat = math.radians(degrees), inside + t / 2, 10.0, 14.0
    wall = (rise - 2 * mid * (1 - math.cos(a))) / math.sin(a)
    corner = mid * math.sin(a) + wall / 2 * math.cos(a)  # x of the nose's centre
    half_x, half_strip = die_flat + corner, flat + mid * a + wall / 2
    away = (t + clearance) / 2

    def face(offset):
        return {"start": [-half_x, -rise / 2 + offset], "heading_deg": 0.0, "segments": [
            {"line": die_flat}, {"arc": mid - offset, "turn_deg": degrees}, {"line": wall},
            {"arc": mid + offset, "turn_deg": -degrees}, {"line": die_flat}]}

    # A strip on fewer than four places only tilts, without strain. It starts where the dies first hold it: its middle
    # in the dies' middle, leaning on both noses, each end on a flat.
    def height(tilt):
        return half_strip * math.sin(tilt) + t / 2 * math.cos(tilt) - rise / 2 - away

    def miss(tilt):
        return corner * math.sin(tilt) + (height(tilt) - rise / 2 + mid) * math.cos(tilt) - (mid - away) - t / 2

    low, high = 0.0, a
    for _ in range(100):
        tilt = (low + high) / 2
        low, high = (tilt, high) if miss(tilt) < 0 else (low, tilt)
    y, c, s = height(tilt), math.cos(tilt), math.sin(tilt)
    start = [[e * half_strip * c + t / 2 * s, y + e * half_strip * s - t / 2 * c] for e in (-1, 1)]
    return case(name, metal, {"t": t, "start": start}, face(-away), face(away), 2 * y,
                {"straights": [0, 2, 4], "bends": [1, 3]}, stiffness,
                "starts leaning on both noses with each end on a flat, point-symmetric about its middle")


def main():
    here = os.path.join(os.path.dirname(os.path.abspath(__file__)), "cases")
    cases = [vee(metal) for metal in METALS]
    cases += [step(metal, clearance=0.05, name="step-60-%s-gap105" % metal) for metal in METALS]
    cases += [step(metal, name="step-60-%s" % metal) for metal in METALS]
    cases.append(step("soft", stiffness=500.0, name="step-60-soft-k500"))
    cases.append(step("soft", 45, 0.5, 1.0, 2.0, 0.05, name="step-45-thin-soft"))
    for one in cases:
        with open(os.path.join(here, one["name"] + ".json"), "w") as f:
            json.dump(one, f, indent=1)
            f.write("\n")


if __name__ == "__main__":
    main()
