"""Values for tests/rooms/shore.rs, made outside the project.

scipy.spatial.Delaunay and scipy.interpolate.LinearNDInterpolator for levels, shapely for areas
(facets clipped at the levels and joined by unary_union), pyproj for the beach's plane.
Run: python make.py > shore.json
"""

import json

import numpy as np
import pyproj
import scipy
import shapely
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import Delaunay
from shapely.geometry import LineString, Polygon, box

rng = np.random.default_rng(20240229)
ORIGIN = (-20.0, 45.0)
n = 400
# Irregular positions: no four on a circle, so the Delaunay triangulation is unique.
east = rng.uniform(0, 300, n)
north = rng.uniform(-160, 0, n)
level = 3.2 + 0.035 * north + 0.5 * np.sin(east / 25.0) * np.exp(-((north + 70) / 40) ** 2) + rng.normal(0, 0.03, n)
pts = np.c_[east, north]

proj = pyproj.Proj(f"+proj=etmerc +lat_0={ORIGIN[1]} +lon_0={ORIGIN[0]} +k=1 +datum=WGS84 +units=m")
lon, lat = proj(east, north, inverse=True)

tri = Delaunay(pts)
interp = LinearNDInterpolator(tri, level)
q = np.c_[rng.uniform(-20, 320, 200), rng.uniform(-180, 20, 200)]
at = interp(q)

marks = {"MHWS": 2.1, "MHWN": 1.0, "MSL": 0.1, "MLWN": -0.8, "MLWS": -1.7}
offset = 0.25  # tide = land + offset


def clip(facet_xy, z, low, high):
    """Part of one facet with low <= z < high, by linear interpolation along its edges."""
    ring = list(zip(facet_xy[:, 0], facet_xy[:, 1], z))
    for limit, keep_above in ((low, True), (high, False)):
        if not np.isfinite(limit):
            continue
        out = []
        for a, b in zip(ring, ring[1:] + ring[:1]):
            ina = a[2] >= limit if keep_above else a[2] <= limit
            inb = b[2] >= limit if keep_above else b[2] <= limit
            if ina:
                out.append(a)
            if ina != inb:
                t = (limit - a[2]) / (b[2] - a[2])
                out.append(tuple(a[k] + t * (b[k] - a[k]) for k in range(3)))
        ring = out
    return Polygon([(p[0], p[1]) for p in ring]) if len(ring) > 2 else None


edges = sorted(marks.values(), reverse=True)
limits = [(edges[0], np.inf)] + [(b, a) for a, b in zip(edges, edges[1:])] + [(-np.inf, edges[-1])]
bands = []
for low, high in limits:
    parts = [clip(pts[s], level[s], low - offset, high - offset) for s in tri.simplices]
    # Neighbouring facets compute a shared crossing with rounding of their own, which leaves hairline
    # cracks in the union; growing and shrinking it by 0.1 mm with square corners closes them.
    area = shapely.unary_union([p for p in parts if p is not None and p.area > 0])
    area = area.buffer(1e-4, join_style="mitre").buffer(-1e-4, join_style="mitre")
    bands.append({
        "low_m": None if np.isinf(low) else low,
        "high_m": None if np.isinf(high) else high,
        "area_m2": area.area,
        "length_m": area.length,
    })

lines = []
for z in edges:
    length = 0.0
    for s in tri.simplices:
        ends = []
        for i, j in ((0, 1), (1, 2), (2, 0)):
            a, b = level[s[i]] + offset - z, level[s[j]] + offset - z
            if a * b < 0:
                ends.append(pts[s[i]] + a / (a - b) * (pts[s[j]] - pts[s[i]]))
        if len(ends) == 2:
            length += LineString(ends).length
    lines.append({"level_m": z, "length_m": length})

print(json.dumps({
    "made_with": f"scipy {scipy.__version__}, shapely {shapely.__version__}, numpy {np.__version__}, pyproj {pyproj.__version__}",
    "origin": ORIGIN,
    "offset_m": offset,
    "marks": marks,
    "levels": [{"lon": a, "lat": b, "level_m": c} for a, b, c in zip(lon, lat, level)],
    "queries": [{"east_m": p[0], "north_m": p[1], "land_m": None if np.isnan(z) else z} for p, z in zip(q.tolist(), at.tolist())],
    "hull_m2": shapely.MultiPoint(pts).convex_hull.area,
    "bands": bands,
    "lines": lines,
}))
