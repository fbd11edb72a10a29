"""Makes walls.json: wave speed by restraint and with free gas, collapse of PVC, evaluated apart from the Go code from the formulas of
Wylie & Streeter (thin and thick walls), Pearsall (gas) and ASTM F480, for TestWallScript. Python 3 standard library only.

Run: python3 walls.py > walls.json
"""
import json
from math import sqrt

K, RHO = 2.19e9, 998.2


def speed(bore, wall, modulus, c, k=K, rho=RHO, gas=0.0, p=1.0, rho_gas=0.0):
    mixed = (1 - gas) * rho + gas * rho_gas
    return 1 / sqrt(mixed * ((1 - gas) / k + gas / p + c * bore / (modulus * wall)))


def thick(bore, wall, nu, c_thin):
    return 2 * wall / bore * (1 + nu) + bore * c_thin / (bore + wall)


restraints = []
for name, outside, wall, modulus, nu in [
        ("DI DN 300 K9", 326, 7.2, 170e9, 0.28), ("DI DN 600 K9", 635, 9.9, 170e9, 0.28), ("steel 323.9 x 5.6", 323.9, 5.6, 207e9, 0.30),
        ("PVC-U 315 x 12.1", 315, 12.1, 3.0e9, 0.40), ("PE100 315 x 28.6", 315, 28.6, 1.0e9, 0.45), ("PE100 315 x 18.7", 315, 18.7, 1.0e9, 0.45)]:
    t = wall / 1e3
    d = (outside - 2 * wall) / 1e3
    c = [1, 1 - nu / 2, 1 - nu * nu, 1.25 - nu]
    restraints.append({"name": name, "bore": d, "wall": t, "modulus": modulus, "poisson": nu,
                       "thin": [speed(d, t, modulus, x) for x in c], "thick": [speed(d, t, modulus, thick(d, t, nu, x)) for x in c]})

gas = []
for p in [101325, 303975, 1013250]:
    for share in [0, 1e-5, 1e-4, 1e-3, 2e-3, 5e-3, 1e-2, 5e-2]:
        gas.append({"pressure": p, "share": share, "speed": speed(0.5, 0.008, 200e9, 1, 2.19e9, 1000, share, p, 1.2 * p / 101325)})

pvc = []
for dr in [17, 21, 26, 32.5, 41]:  # psi
    e, nu = 400e3, 0.33
    pvc.append({"ratio": dr, "outside": 2 * e / ((1 - nu * nu) * dr * (dr - 1) ** 2), "safe": 0.75 * 2 * e / ((1 - nu * nu) * (dr - 1) ** 3)})

print(json.dumps({"made_by": "walls.py", "restraints": restraints, "gas": gas, "pvc_psi": pvc}, indent=1))
