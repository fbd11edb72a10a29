"""Makes chain.json: air valves of a line of DN 500, from the grade line to the diameter, evaluated apart from the Go code, for TestChainScript.

Python 3 standard library only. Run: python3 chain.py > chain.json
Ductile iron DN 500 K9, bore 514 mm, k 0.1 mm, nu 1.31e-6 m2/s, g 9.81; air of 101,325 Pa, 288.15 K, R 287.05287, gamma 1.4.
"""
import json
from math import log10, pi, sqrt

D, ROUGH, NU, GRAV = 0.514, 1e-4, 1.31e-6, 9.81
P0, T0, R, GAMMA = 101325.0, 288.15, 287.05287, 1.4
AREA, RHO = pi / 4 * D * D, P0 / (R * T0)


def full_flow(slope):
    v = 1.0
    for _ in range(200):
        x = 8.0
        for _ in range(100):
            x = -2 * log10(ROUGH / D / 3.7 + 2.51 * x / (v * D / NU))
        v = sqrt(2 * GRAV * D * slope) * x
    return v


def flux(p1, p2):
    r = max(p2 / p1, (2 / (GAMMA + 1)) ** (GAMMA / (GAMMA - 1)))
    return p1 / sqrt(R * T0) * sqrt(2 * GAMMA / (GAMMA - 1) * (r ** (2 / GAMMA) - r ** ((GAMMA + 1) / GAMMA)))


def diameter(mass, p1, p2, cd):
    return sqrt(mass / (cd * flux(p1, p2)) * 4 / pi)


burst = []
for s in [0.005, 0.02, 0.05]:
    v = full_flow(s)
    m = v * AREA * RHO
    burst.append({"slope": s, "velocity": v, "flow": v * AREA, "free_air": diameter(m, P0, P0 - 35e3, 0.6),
                  "pipe_air": diameter(m * (P0 - 35e3) / P0, P0, P0 - 35e3, 0.6)})
q = 0.3 * AREA
print(json.dumps({
    "made_by": "chain.py",
    "burst": burst,
    "fill_flow": q,
    "vent": diameter(q * RHO * (P0 + 13.79e3) / P0, P0 + 13.79e3, P0, 0.6),
    "small_orifice": diameter(0.02 * 0.3 * RHO, P0 + 6e5, P0, 0.7),
}, indent=1))
