#!/usr/bin/env python3
"""Pictures of a result: plot.py case.json result.json out.png  (matplotlib, only to look at)."""

import json
import os
import sys

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt  # noqa: E402

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from ccx_press import die_points  # noqa: E402

case, result = json.load(open(sys.argv[1])), json.load(open(sys.argv[2]))
fig, (a, b) = plt.subplots(2, 1, figsize=(14, 11))
for name in ("lower", "upper"):
    p = die_points(case[name])
    a.plot([q[0] for q in p], [q[1] for q in p], "k-", lw=0.8)
for key, colour in (("closed_columns", "b"), ("released_columns", "r")):
    if key in result:
        c = result[key]
        a.plot([q[1] for q in c] + [q[5] for q in c[::-1]], [q[2] for q in c] + [q[6] for q in c[::-1]], colour + ".-", ms=2, lw=0.6)
a.set_aspect("equal")
b.plot(*zip(*result["lift_and_force"]), ".-")
b.set_yscale("symlog", linthresh=10)
b.grid()
fig.savefig(sys.argv[3], dpi=90)
