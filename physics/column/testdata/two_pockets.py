"""Makes two_pockets.json: two columns and two pockets in a level pipe, each vented by an orifice, by SciPy's solve_ivp from the
equations alone. Run: /usr/bin/python3 two_pockets.py > two_pockets.json

Tank 20 m; pipe 0.2 m, f = 0.018; water 0-80 m, air 80-120 m (orifice 8 mm at 118 m), water 120-220 m, air 220-300 m (orifice 12 mm at
300 m, closed end); n = 1.2, Cd = 0.6, air leaves at the temperature outside.
"""
import json
import numpy as np
import scipy
from scipy.integrate import solve_ivp

g, rho, pa, ta, R, n, cd = 9.81, 1000.0, 101325.0, 288.15, 287.05287, 1.2, 0.6
D, f, H = 0.2, 0.018, 20.0
A = np.pi / 4 * D * D
gam = 1.4


def psi(r):
    rc = (2 / (gam + 1)) ** (gam / (gam - 1))
    r = max(r, rc)
    return np.sqrt(max(0.0, 2 * gam / (gam - 1) * (r ** (2 / gam) - r ** ((gam + 1) / gam))))


def out(d, p):
    a = cd * np.pi / 4 * d * d
    if p >= pa:
        return a * p / np.sqrt(R * ta) * psi(pa / p)
    return -a * pa / np.sqrt(R * ta) * psi(p / pa)


def pressure(m, v):
    return pa * (m / v / (pa / (R * ta))) ** n


def rhs(_, y):
    x1, v1, a2, b2, v2, m1, m2 = y
    p1 = pressure(m1, (a2 - x1) * A)
    p2 = pressure(m2, (300 - b2) * A)
    dv1 = (g * H - (p1 - pa) / rho - v1 * v1 / 2 - f * x1 / D * v1 * abs(v1) / 2) / x1
    L2 = b2 - a2
    dv2 = ((p1 - p2) / rho - f * L2 / D * v2 * abs(v2) / 2) / L2
    return [v1, dv1, v2, v2, dv2, -out(0.008, p1), -out(0.012, p2)]


m0 = pa / (R * ta)
y0 = [80, 0, 120, 220, 0, m0 * 40 * A, m0 * 80 * A]
t = [1.0, 2.0, 5.0, 6.0]


def reach(_, y):
    return y[0] - 118.0


reach.terminal = True
s = solve_ivp(rhs, [0, 40], y0, method="Radau", rtol=1e-10, atol=1e-12, t_eval=t, dense_output=True, events=reach)
ts = np.linspace(0, s.t_events[0][0], 20001)
p1 = np.array([pressure(s.sol(x)[5], (s.sol(x)[2] - s.sol(x)[0]) * A) for x in ts])
print(json.dumps({
    "made_by": "scipy " + scipy.__version__ + ", solve_ivp, Radau, rtol 1e-10",
    "wet_time": float(s.t_events[0][0]) if len(s.t_events[0]) else 0.0,
    "peak_head": float((p1.max() - pa) / (rho * g)),
    "peak_time": float(ts[p1.argmax()]),
    "times": list(s.t),
    "states": [list(c) for c in s.y.T],
}, indent=1))
