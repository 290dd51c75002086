"""Makes swath.json: areas of swaths by exact polygons, to hold the gridded ones against.

    python swath.py > swath.json

Made with shapely 2.2.0 (GEOS 3.14.1): each track is a LineString buffered by half the swath with 64
segments a quarter circle; `union_m2` is the area of the union, `first_m2` that of the first outing,
`fresh_m2` what each outing adds. The tracks are invented: lanes, a wander, a spiral, crossing outings,
and a narrow coil without swing. The random ones come from numpy's PCG64 with the seed given.
"""

import json

import numpy as np
import shapely

QUARTER = 64


def lanes(seed, count=12, length=80.0, apart=1.3, noise=0.25):
    rng = np.random.default_rng(seed)
    x = np.arange(0.0, length, 0.5)
    points = []
    for n in range(count):
        row = x if n % 2 == 0 else x[::-1]
        points += [(a, n * apart) for a in row]
    return np.round(np.array(points) + rng.normal(0, noise, (len(points), 2)), 3)


def wander(seed, count=4000, step=0.5):
    rng = np.random.default_rng(seed)
    heading = np.cumsum(rng.normal(0, 0.25, count))
    way = np.cumsum(np.stack([np.cos(heading), np.sin(heading)], axis=1) * step, axis=0)
    return np.round(way, 3)


def spiral():
    t = np.linspace(0, 14 * np.pi, 1500)
    return np.round(np.stack([t * 0.25 * np.cos(t), t * 0.25 * np.sin(t)], axis=1), 3)


cases = {
    "lanes": (1.48, [lanes(1)]),
    "wander": (1.48, [wander(2)]),
    "spiral": (1.48, [spiral()]),
    "crossing outings": (1.48, [lanes(3), lanes(4)[:, ::-1], wander(5)]),
    "narrow coil": (0.28, [lanes(6, apart=0.2, noise=0.02)]),
    "narrow coil, wander": (0.28, [wander(7)]),
}
out = {}
for name, (swath, tracks) in cases.items():
    polygons = [shapely.LineString(t).buffer(swath / 2, quad_segs=QUARTER) for t in tracks]
    covered, fresh = shapely.Polygon(), []
    for polygon in polygons:
        fresh.append(polygon.difference(covered).area)
        covered = covered.union(polygon)
    out[name] = {
        "swath_m": swath,
        "outings": [t.tolist() for t in tracks],
        "swept_m2": [p.area for p in polygons],
        "fresh_m2": fresh,
        "union_m2": covered.area,
    }
print(json.dumps({"source": f"shapely {shapely.__version__}, GEOS {shapely.geos_version_string}, numpy {np.__version__}", "cases": out}))
