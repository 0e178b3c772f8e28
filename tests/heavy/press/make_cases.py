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
    return {"name": "vee-60-" + metal, "sheet": {"t": T, "start": [[-12.0, deep], [12.0, deep]]},
            "material": METALS[metal], "friction": 0.1, "lower": lower, "upper": upper, "stroke": deep,
            "end": {"closed": True}, "hold_x": True, "fine_half": 4.0, "slow": 0.3,
            "measure": {"straights": [2, 4], "bends": [3]}}


def step(metal, gap):
    """Two bends of mid radius 1.5, wall at 60 degrees, rise 3; the gap of the closed dies is `gap` everywhere."""
    a, mid, rise, flat, die_flat = math.radians(60), 1.5, 3.0, 10.0, 14.0
    wall = (rise - 2 * mid * (1 - math.cos(a))) / math.sin(a)
    half_x = die_flat + mid * math.sin(a) + wall / 2 * math.cos(a)
    half_strip = flat + mid * a + wall / 2
    down, up = T / 2, gap - T / 2

    def face(offset):
        return {"start": [-half_x, -rise / 2 + offset], "heading_deg": 0.0, "segments": [
            {"line": die_flat}, {"arc": mid - offset, "turn_deg": 60}, {"line": wall},
            {"arc": mid + offset, "turn_deg": -60}, {"line": die_flat}]}

    # Before the dies hold it at four places a strip only tilts, without strain. It starts tilted: its middle on the
    # dies' middle, its underside on the lower corner and its left end on the low flat, the upper die just touching.
    corner = mid * math.sin(a) + wall / 2 * math.cos(a)

    def middle(tilt):
        return half_strip * math.sin(tilt) + down * math.cos(tilt) - rise / 2 - down

    def miss(tilt):
        return corner * math.sin(tilt) + (middle(tilt) - rise / 2 + mid) * math.cos(tilt) - mid

    low, high = 0.0, a
    for _ in range(100):
        tilt = (low + high) / 2
        low, high = (tilt, high) if miss(tilt) < 0 else (low, tilt)
    y, c, s = middle(tilt), math.cos(tilt), math.sin(tilt)
    start = [[e * half_strip * c + down * s, y + e * half_strip * s - down * c] for e in (-1, 1)]
    # how far up the upper die must be: its corner (radius mid - up about (-corner, -rise / 2 + mid)), its high flat
    over_corner = y + (mid - up + T / 2) / c - corner * s / c - (mid - rise / 2)
    over_end = start[1][1] + T * c - (rise / 2 + up)
    stroke = max(over_corner, over_end)
    name = "step-60-%s%s" % (metal, "" if gap == T else "-gap%d" % round(100 * gap))
    return {"name": name, "sheet": {"t": T, "start": start},
            "material": METALS[metal], "friction": 0.1, "lower": face(-down), "upper": face(up),
            "stroke": stroke, "end": {"max_force": 1500.0} if gap == T else {"closed": True},
            "hold_x": gap == T, "fine_half": 6.0, "slow": 0.3,
            "measure": {"straights": [0, 2, 4], "bends": [1, 3]}}


def main():
    here = os.path.join(os.path.dirname(os.path.abspath(__file__)), "cases")
    for metal in METALS:
        for case in (vee(metal), step(metal, 1.0), step(metal, 1.05)):
            with open(os.path.join(here, case["name"] + ".json"), "w") as f:
                json.dump(case, f, indent=1)
                f.write("\n")


if __name__ == "__main__":
    main()
