"""Makes flux.json: isentropic flow of air through an opening, per area, the second opinion of published_test.go.

Python 3 standard library only. Run: python3 flux.py > flux.json
Cd 1, 101,325 Pa, 288.15 K, R 287.05 J/(kg K), gamma 1.4.
"""
import json
from math import sqrt

G, R, T, P = 1.4, 287.05, 288.15, 101325.0


def flux(p1, p2, t=T):
    critical = (2 / (G + 1)) ** (G / (G - 1))
    r = max(p2 / p1, critical)
    return p1 / sqrt(R * t) * sqrt(2 * G / (G - 1) * (r ** (2 / G) - r ** ((G + 1) / G)))


DP = [1, 5, 10, 13.7895, 20, 34.4738, 35, 47.798, 90.48, 100, 600, 1000]  # kPa
print(json.dumps({
    "made_by": "flux.py",
    "in": {str(d): round(flux(P, max(P - 1e3 * d, 0)), 3) for d in DP},
    "out": {str(d): round(flux(P + 1e3 * d, P), 3) for d in DP},
    "in_at_2000_m": round(flux(79495, 79495 - 35e3, 275.15), 3),
}, indent=1))
