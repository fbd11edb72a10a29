"""Makes columns.json: rigid columns of water that drive air, by SciPy's solve_ivp (version in the file), for TestAgainstSciPy.

Run: /usr/bin/python3 columns.py > columns.json
Written apart from the Go code, from the equations alone: one column of water in a level pipe, air behind it by p ~ (m/V)^n.
"""
import json
from math import pi, sqrt

import scipy
from scipy.integrate import solve_ivp

G, RHO, PA, T, R, GAMMA = 9.81, 1000.0, 101325.0, 288.15, 287.05287, 1.4
OPTIONS = dict(method="Radau", rtol=1e-9, atol=1e-11)


def flux(p1, p2):
    """Isentropic mass flow per area, kg/(s m2)."""
    if p1 <= p2:
        return 0.0
    r = max(p2 / p1, (2 / (GAMMA + 1)) ** (GAMMA / (GAMMA - 1)))
    return p1 / sqrt(R * T) * sqrt(2 * GAMMA / (GAMMA - 1) * (r ** (2 / GAMMA) - r ** ((GAMMA + 1) / GAMMA)))


def dead_end(k, n, f, length=100.0, pocket=5.0, bore=0.5):
    """A column of constant length between k atmospheres and a pocket at one: its first peak."""
    def rate(_, y):
        x, v = y
        p = PA * (pocket / (pocket - x)) ** n
        return [v, (k * PA - p) / (RHO * length) - f * v * abs(v) / (2 * bore)]

    def turns(_, y):
        return y[1]
    turns.terminal, turns.direction = True, -1
    s = solve_ivp(rate, [0, 60], [0, 0], events=turns, **OPTIONS)
    return {"ratio": k, "exponent": n, "friction": f, "peak": (pocket / (pocket - s.y[0, -1])) ** n, "time": s.t[-1]}


def vented(mm, head=30.0, length=100.0, water=50.0, bore=0.1, f=0.02, n=1.2, cd=0.6):
    """A lengthening column from a tank (its velocity head charged at entry) and air that leaves through an orifice at 15 degC."""
    area, hole = pi / 4 * bore ** 2, cd * pi / 4 * (mm / 1e3) ** 2
    m0 = PA * area * (length - water) / (R * T)

    def pressure(x, m):
        return PA * (m / m0 * (length - water) / (length - x)) ** n

    def rate(_, y):
        x, v, m = y
        p = pressure(x, m)
        out = hole * (flux(p, PA) if p > PA else -flux(PA, p))
        return [v, (RHO * G * head + PA - p - RHO * v * abs(v) / 2 * (1 + f * x / bore)) / (RHO * x), -out]

    def full(_, y):
        return length - y[0] - 1e-5
    full.terminal = True
    s = solve_ivp(rate, [0, 100], [water, 0, m0], events=full, max_step=0.02, **OPTIONS)
    p = [pressure(x, m) for x, m in zip(s.y[0], s.y[2])]
    # The air's first peak: the water's stroke, when the last air goes, is another matter.
    top = next(i for i in range(1, len(p) - 1) if p[i] > p[i - 1] and p[i] >= p[i + 1])
    gone = bool(len(s.t_events[0]))
    return {"orifice_mm": mm, "peak_head": (p[top] - PA) / (RHO * G), "peak_time": s.t[top],
            "gone_time": s.t[-1] if gone else 0, "gone_speed": s.y[1, -1] if gone else 0}


print(json.dumps({
    "made_by": "scipy " + scipy.__version__ + ", solve_ivp, Radau, rtol 1e-9",
    "dead_end": [dead_end(2, 1.0, 0), dead_end(2, 1.4, 0.03), dead_end(3, 1.2, 0), dead_end(3, 1.2, 0.02)],
    "vented": [vented(mm) for mm in [5, 10, 20, 40]],
}, indent=1))
