"""Makes critical.json: critical velocities of air pockets evaluated apart from the Go code, for TestCriticalScript.

Python 3 standard library only. Run: python3 critical.py > critical.json
Bore 0.5 m, g 9.81 m/s2; angles in degrees. Formulas: Escarameia 2007 (without its factor of safety), Wisner, Mohsen & Kouwen 1975,
Kalinske & Bliss 1943, Kent 1952, and Kent's tests by Mosvoll 1976.
"""
import json
from math import pi, radians, sin, sqrt, tan

W = sqrt(9.81 * 0.5)
FORMS = {
    "escarameia-tiny": lambda a: 0.45 + 0.56 * sqrt(sin(a)),
    "escarameia-small": lambda a: 0.50 + 0.56 * sqrt(sin(a)),
    "escarameia-medium": lambda a: 0.57 + 0.56 * sqrt(sin(a)),
    "escarameia-large": lambda a: 0.61 + 0.56 * sqrt(sin(a)),
    "wisner": lambda a: 0.825 + 0.25 * sqrt(sin(a)),
    "kalinske-full": lambda a: 4 / pi * sqrt(tan(a)),
    "kalinske-first": lambda a: 4 / pi * sqrt(0.707 * tan(a)),
    "kent": lambda a: 1.23 * sqrt(sin(a)),
    "mosvoll": lambda a: 0.55 + 0.5 * sqrt(sin(a)),
}
print(json.dumps({"made_by": "critical.py", "velocity": {
    name: {str(d): W * f(radians(d)) for d in [1, 2, 5, 10, 20, 30]} for name, f in FORMS.items()}}, indent=1))
