"""Makes constants.json: SI values of units from scipy.constants (version in the file), for TestSecondLibrary.

Run: /usr/bin/python3 constants.py > constants.json
"""
import json
import scipy
from scipy import constants as c

print(json.dumps({
    "made_by": "scipy " + scipy.__version__ + ", scipy.constants",
    "units": {
        "in": c.inch, "ft": c.foot, "yd": c.yard, "mi": c.mile, "lb": c.pound, "US gal": c.gallon_US, "UK gal": c.gallon_imp,
        "psi": c.psi, "atm": c.atm, "a": c.year, "d": c.day, "h": c.hour, "min": c.minute, "°": c.degree, "km/h": c.kmh,
        "ha": c.hectare, "L": c.liter, "bar": c.bar,
    },
}, indent=1, ensure_ascii=False))
