# Numbers of an independent general-purpose library for the tests beside it: Debian's python3-pyproj 3.4.1 on PROJ 9.1.1.
# Run: /usr/bin/python3 pyproj.py > pyproj.json
import json, os, sys
sys.path = [p for p in sys.path if p not in ("", os.path.dirname(os.path.abspath(__file__)))]  # this file has the library's name
import pyproj
from pyproj import CRS, Geod, Proj

out = {"pyproj": pyproj.__version__, "proj": pyproj.proj_version_str, "grids": [], "scales": [], "lines": [], "geocentric": []}

codes = [*range(32601, 32661, 7), *range(32701, 32761, 7), *range(25828, 25839), *range(26901, 26924, 5),
         *range(28348, 28359, 3), *range(7846, 7860, 4), *range(31466, 31470), 27700, 3857]
for code in codes:
    p = Proj(CRS.from_epsg(code))
    cf = {q.name: q.value for q in CRS.from_epsg(code).coordinate_operation.params}
    lon0 = cf.get("Longitude of natural origin", 0.0)
    south = cf.get("False northing", 0) == 10000000.0
    for dlon, lat in ((0.0, 5.0), (1.7, 47.3), (-2.9, 61.5)):
        lat = -lat if south else lat
        e, n = p(lon0 + dlon, lat)
        back = p(e, n, inverse=True)
        out["grids"].append({"code": code, "lat": lat, "lon": lon0 + dlon, "east": e, "north": n, "back_lat": back[1], "back_lon": back[0]})
        if code != 3857:
            out["scales"].append({"code": code, "lat": lat, "lon": lon0 + dlon, "k": p.get_factors(lon0 + dlon, lat).meridional_scale})

for ell in ("WGS84", "GRS80", "airy", "bessel", "intl"):
    g = Geod(ellps=ell)
    for lat1, lon1, lat2, lon2 in ((47.1, 10.2, 47.1001, 10.2001), (47.1, 10.2, 47.109, 10.2), (47.1, 10.2, 47.1, 10.213),
                                   (-37.9, 144.4, -37.7, 143.9), (0, 0, 0, 1), (0, 0, 1, 0), (89, 0, 89, 120), (40.6, -73.8, 51.6, -0.5),
                                   (10, 179.9, 10.1, -179.9), (60, 5, 61, 6)):
        out["lines"].append({"ellipsoid": ell, "lat1": lat1, "lon1": lon1, "lat2": lat2, "lon2": lon2, "s": g.inv(lon1, lat1, lon2, lat2)[2]})

for lat, lon, h in ((53.80939444444444, 2.12955, 73.0), (-37.95, 144.42, 1200.0), (0, 0, 0), (89.9, -120, -50)):
    x, y, z = pyproj.Transformer.from_crs(4979, 4978, always_xy=True).transform(lon, lat, h)
    out["geocentric"].append({"lat": lat, "lon": lon, "h": h, "x": x, "y": y, "z": z})

json.dump(out, sys.stdout, indent=1)
sys.stdout.write("\n")
