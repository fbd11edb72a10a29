"""Makes draining.json: pipes and tanks that drain, by SciPy's solve_ivp and quad (version in the file), for TestAgainstSciPy.

Run: /usr/bin/python3 draining.py > draining.json
Written apart from the Go code, from the equations alone: one rigid column of water; a tank before a leak.
"""
import json
from math import exp

import scipy
from scipy.integrate import quad, solve_ivp

G, RHO, PA = 9.81, 1000.0, 101325.0
OPTIONS = dict(method="Radau", rtol=1e-10, atol=1e-12)


def inclined(k, length=1000.0, bore=0.3, f=0.02, slope=0.02):
    """A sloped pipe, vented at its top, drains from rest through an end valve: times to 75, 50, 25 % of its length."""
    def rate(_, y):
        left, v = y
        return [-v, G * slope - (k + f * left / bore) * v * abs(v) / (2 * left)]

    times = []
    for share in [0.75, 0.5, 0.25]:
        def reached(_, y, share=share):
            return y[0] - share * length
        reached.terminal = True
        times.append(solve_ivp(rate, [0, 1e5], [length, 0], events=reached, **OPTIONS).t[-1])
    return {"loss": k, "times": times}


def closed_top(length, air, n, k=10.0):
    """A vertical pipe with its top shut is opened at its foot: the least pressure of the air, m absolute, and when."""
    def pressure(s):
        return PA * (air / (air + s)) ** n

    def rate(_, y):
        s, v = y
        left = length - air - s
        return [v, G - (PA - pressure(s)) / (RHO * left) - k * v * abs(v) / (2 * left)]

    def turns(_, y):
        return y[1]
    turns.terminal, turns.direction = True, -1
    run = solve_ivp(rate, [0, 10], [0, 0], events=turns, **OPTIONS)
    return {"length": length, "air": air, "exponent": n, "least": pressure(run.y[0, -1]) / (RHO * G), "time": run.t[-1]}


def leaking(area=30.0, high=8.0, low=0.3, k=4e-5, h0=2.5):
    """A tank falls before a leak that rises with its head and then falls, k h exp(-h/h0) m3/s."""
    time, _ = quad(lambda h: area / (k * h * exp(-h / h0)), low, high, epsabs=0, epsrel=1e-11)
    return {"area": area, "high": high, "low": low, "k": k, "h0": h0, "time": time}


print(json.dumps({
    "made_by": "scipy " + scipy.__version__ + ", solve_ivp (Radau, rtol 1e-10) and quad",
    "inclined": [inclined(50), inclined(2000)],
    "closed_top": [closed_top(5, 0.5, 1.0), closed_top(5, 0.5, 1.4), closed_top(9, 0.5, 1.2)],
    "leaking": leaking(),
}, indent=1))
