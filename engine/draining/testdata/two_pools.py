"""Two pools, a check valve between them, two leaks: an independent integration by scipy.

Writes two_pools.json. A tank of 5 m² stands at 10 m before a check valve; behind it a pipe of 0.3 m rises to 16 m and stands full to 14 m.
One valve leaks 2e-5 sqrt(x) m³/s, another 4e-5 x exp(-x/2), with x the head at the seat in metres. The pools sink each by itself until the
lower side's level meets the tank's, then together. Run: python3 two_pools.py
"""
import json
import numpy as np
from scipy.integrate import solve_ivp

BORE = 0.3
PIPE = [((0, 0), (200, 0)), ((200, 0), (300, 3)), ((300, 3), (400, 16))]  # chainage along the pipe, obvert


def surface(h):
    """Free surface of the pipe at level h, m²: the width of the segment summed in slices."""
    a = 0.0
    for (x0, z0), (x1, z1) in PIPE:
        n = 200000
        length = x1 - x0
        cos = np.sqrt(1 - ((z1 - z0) / length) ** 2)
        inv = z0 + (np.arange(n) + 0.5) / n * (z1 - z0) - BORE
        d = (h - inv) / cos
        d = d[(d > 0) & (d < BORE)]
        a += np.sum(2 * np.sqrt(d * (BORE - d))) * length / n / cos
    return a


def q1(h):
    return 2e-5 * np.sqrt(max(h - 0.5, 0))


def q2(h):
    x = max(h - 3.4, 0)
    return 4e-5 * x * np.exp(-x / 2)


levels = np.concatenate([np.linspace(0, 3.5, 1401)[:-1], np.linspace(3.5, 14, 1051)])
table = [surface(h) for h in levels]
area = lambda h: np.interp(h, levels, table)
opts = dict(method="LSODA", rtol=1e-10, atol=1e-12, dense_output=True)
meet = lambda t, y: y[0] - 10
meet.terminal = True
first = solve_ivp(lambda t, y: [-(q1(y[0]) + q2(y[0])) / area(y[0]), q1(y[0]), q2(y[0])], (0, 1e6), [14, 0, 0], events=meet, **opts)
joins = first.t[-1]
end = 600000.0
second = solve_ivp(lambda t, y: [-(q1(y[0]) + q2(y[0])) / (area(y[0]) + 5), q1(y[0]), q2(y[0])], (joins, end), [10, *first.y[1:, -1]], **opts)
out = {"joins_s": joins, "at": []}
for t in [5000, 15000, 50000, 150000, 300000, 450000, 600000]:
    y = first.sol(t) if t < joins else second.sol(t)
    out["at"].append({"time_s": t, "level_m": y[0], "lost_1_m3": y[1], "lost_2_m3": y[2]})
json.dump(out, open("two_pools.json", "w"), indent=1)
