"""Makes ode.json: reference solutions for TestReference, by SciPy's solve_ivp (version in the file).

Run: /usr/bin/python3 ode.py > ode.json
"""
import json
import scipy
from scipy.integrate import solve_ivp


def robertson(_, y):
    a = -0.04 * y[0] + 1e4 * y[1] * y[2]
    c = 3e7 * y[1] * y[1]
    return [a, -a - c, c]


def van_der_pol(_, y):
    return [y[1], 100 * (1 - y[0] ** 2) * y[1] - y[0]]


def arenstorf(_, y):
    m = 0.012277471
    n = 1 - m
    d1 = ((y[0] + m) ** 2 + y[1] ** 2) ** 1.5
    d2 = ((y[0] - n) ** 2 + y[1] ** 2) ** 1.5
    return [y[2], y[3],
            y[0] + 2 * y[3] - n * (y[0] + m) / d1 - m * (y[0] - n) / d2,
            y[1] - 2 * y[2] - n * y[1] / d1 - m * y[1] / d2]


def end(f, t, y, method):
    s = solve_ivp(f, [0, t], y, method=method, rtol=1e-12, atol=1e-14)
    return list(s.y[:, -1])


print(json.dumps({
    "made_by": "scipy " + scipy.__version__ + ", solve_ivp, Radau and DOP853, rtol 1e-12",
    "robertson": end(robertson, 40, [1, 0, 0], "Radau"),
    "van_der_pol": end(van_der_pol, 60, [2, 0], "Radau"),
    "arenstorf": end(arenstorf, 10, [0.994, 0, 0, -2.00158510637908252240537862224], "DOP853"),
}, indent=1))
