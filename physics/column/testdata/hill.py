"""Makes hill.json: a main half drained, from a pump or a tank over a crest with an air valve, through a sag, up to an open end, by the
classical Runge-Kutta method in small steps from the equations alone. Run: python3 hill.py > hill.json

Axis 0 m at 0 m, 20 m at 500 m (crest, orifice), 5 m at 900 m (sag), 30 m at 1500 m (open end); bore 0.3 m, f 0.02. Water from 0 to 250 m
and from 650 to 1125 m at rest. Pump 60 - 3000 Q^2 m from a sump at 0 m, run up in 10 s, or a tank at 45 m. Air: n 1.2, leaves at its own temperature,
isentropic, Cd 0.6.
"""
import json
from math import pi, sqrt

g, rho, pa, ta, R, n, cd, gam = 9.81, 1000.0, 101325.0, 288.15, 287.05287, 1.2, 0.6, 1.4
D, f = 0.3, 0.02
A = pi / 4 * D * D
ra = pa / (R * ta)
wave = 1000.0
profile = [(0, 0), (500, 20), (900, 5), (1500, 30)]


def z(x):
    for (x0, z0), (x1, z1) in zip(profile, profile[1:]):
        if x <= x1:
            return z0 + (z1 - z0) * (x - x0) / (x1 - x0)
    return profile[-1][1]


def flux(area, p0, t0, p1):
    r = max(p1 / p0, (2 / (gam + 1)) ** (gam / (gam - 1)))
    return cd * area * p0 / sqrt(R * t0) * sqrt(max(0.0, 2 * gam / (gam - 1) * (r ** (2 / gam) - r ** ((gam + 1) / gam))))


def through(area, p, dens):
    dp = p - pa
    if abs(dp) < 10:  # linear next to nothing
        return (flux(area, pa + 10, ta, pa) if dp > 0 else flux(area, pa, ta, pa - 10)) * dp / 10
    if dp > 0:
        return flux(area, p, p / (dens * R), pa)
    return -flux(area, pa, ta, p)


class Case:
    def __init__(self, tank=0.0, bore=0.05, stage=None, early=None):
        self.tank, self.area, self.stage, self.early = tank, pi / 4 * bore * bore, stage, early
        self.held = self.throttled = self.shut = False

    def feed(self, q, t):
        if self.tank:
            return self.tank
        r = min(1.0, max(t / 10, 0.01))
        return 60 * r * r - 3000 * q * q if q > 0 else 60 * r * r

    def open(self):
        if self.shut:
            return 0.0
        return pi / 4 * self.stage[2] ** 2 if self.throttled else self.area

    def air(self, y):
        x, v1, a, b, v2, m = y
        dens = m / ((a - x) * A)
        return pa * (dens / ra) ** n, dens

    def rates(self, t, y):
        x, v1, a, b, v2, m = y
        p, dens = self.air(y)
        h = (p - pa) / (rho * g)
        end = z(x) - (D / 2 if self.held else 0)
        d1 = g / x * (self.feed(v1 * A, t) - end - h - v1 * v1 / (2 * g) - f * x / D * v1 * abs(v1) / (2 * g))
        if not self.tank and v1 <= 0 and d1 < 0:  # check valve
            d1 = 0.0
        long = b - a
        d2 = g / long * (z(a) + h - z(b) - f * long / D * v2 * abs(v2) / (2 * g))
        spill = v1 if self.held else 0.0
        return [0.0 if self.held else v1, d1, v2 - spill, v2, d2, -through(self.open(), p, dens)]

    def step(self, t, y, h):
        add = lambda u, w, s: [p + s * q for p, q in zip(u, w)]
        k1 = self.rates(t, y)
        k2 = self.rates(t + h / 2, add(y, k1, h / 2))
        k3 = self.rates(t + h / 2, add(y, k2, h / 2))
        k4 = self.rates(t + h, add(y, k3, h))
        return [u + h / 6 * (p + 2 * q + 2 * r + s) for u, p, q, r, s in zip(y, k1, k2, k3, k4)]

    def run(self):
        t, y = 0.0, [250.0, 0.0, 650.0, 1125.0, 0.0, ra * 400 * A]
        m0, res = y[5], {"crest": 0.0, "peak": 0.0, "peak_time": 0.0, "stage_on": 0.0, "early": 0.0, "reopens": 0.0}
        while t < 400 and y[2] - y[0] > 3e-3 * D:
            x, v1, a, b, v2, m = y
            room = a - x
            h = min(5e-3, 0.01 * room / max(abs(v1) + abs(v2), 1e-3))
            if t < 150 <= t + h:
                h = 150 - t
            y = self.step(t, y, h)
            t += h
            if abs(t - 150) < 1e-9:
                res["at150"] = [y[0], y[2], y[3], y[1] * A, y[4] * A, self.air(y)[0] - pa]
            if not self.tank and y[1] < 0:
                y[1] = 0.0
            if not self.held and y[0] >= 500:
                self.held, y[0] = True, 500.0
                res["crest"] = res["crest"] or t
            elif self.held and y[1] < 0:
                self.held = False
            dp = self.air(y)[0] - pa
            if dp > res["peak"]:
                res["peak"], res["peak_time"] = dp, t
            if self.stage and not self.throttled and dp >= self.stage[0]:
                self.throttled = True
                res["stage_on"] = res["stage_on"] or t
            elif self.stage and self.throttled and dp <= self.stage[1]:
                self.throttled = False
            if self.early and not self.shut and dp >= self.early[0]:
                self.shut = True
                res["early"] = res["early"] or t
            elif self.early and self.shut and dp <= self.early[1]:
                self.shut = False
                res["reopens"] = res["reopens"] or t
        x, v1, a, b, v2, m = y
        assert b < 1500
        res.update(gone=t, before=v1, after=v2, slam=wave * (v1 - v2) / (2 * g), out=m0 - m, front=b)
        v = (x * v1 + (b - a) * v2) / (b - (a - x))
        if t >= 400:  # still closed in: no last air
            return dict(res, slam=0.0)
        y = [b, v]
        while y[0] < 1500 and t < 1500:  # one column
            def rate(s, u):
                return [u[1], g / u[0] * (self.feed(u[1] * A, s) - z(u[0]) - u[1] ** 2 / (2 * g) - f * u[0] / D * u[1] * abs(u[1]) / (2 * g))]
            h = 5e-3
            k1 = rate(t, y)
            k2 = rate(t + h / 2, [p + h / 2 * q for p, q in zip(y, k1)])
            y = [p + h * q for p, q in zip(y, k2)]
            t += h
        res["full"] = t
        return res


print(json.dumps({
    "pump": Case().run(),
    "tank": Case(tank=45.0).run(),
    "stage": Case(bore=0.04, stage=(6000.0, 600.0, 0.02)).run(),
    "early": Case(bore=0.04, early=(6000.0, 600.0)).run(),
}, indent=1))
