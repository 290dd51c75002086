"""Reference values for the earth room, by PyPI pyproj (PROJ) and geographiclib.

`python make.py` writes frame.csv, geodesic.csv and grid.csv beside itself; the first line of each
names the packages and their versions. Seeded, so it writes the same again."""
import csv
import pathlib
import random

import geographiclib
import pyproj
from geographiclib.geodesic import Geodesic

here = pathlib.Path(__file__).parent
rng = random.Random(20240501)
versions = f"# pyproj {pyproj.__version__} (PROJ {pyproj.proj_version_str}), geographiclib {geographiclib.__version__}"
origins = [(-20.0, 45.0), (0.0, 51.5), (174.8, -41.3), (179.98, -17.7), (-179.99, 65.0), (-70.0, 0.0), (18.4, -34.1), (15.6, 78.2)]


def write(name, header, rows):
    with open(here / name, "w", newline="") as f:
        f.write(versions + "\n")
        out = csv.writer(f, lineterminator="\n")
        out.writerow(header)
        out.writerows(rows)


def wrap(lon):
    return (lon + 180) % 360 - 180


rows = []
for lon0, lat0 in origins:
    tm = pyproj.Transformer.from_crs(
        "EPSG:4326",
        f"+proj=tmerc +algo=poder_engsager +lat_0={lat0} +lon_0={lon0} +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs",
        always_xy=True,
    )
    for reach in (0.0, 0.001, 0.02, 0.3, 2.0):
        lon = wrap(lon0 + rng.uniform(-reach, reach))
        lat = lat0 + rng.uniform(-reach, reach)
        x, y = tm.transform(lon, lat)
        rows.append([lon0, lat0, repr(lon), repr(lat), f"{x:.6f}", f"{y:.6f}"])
write("frame.csv", "lon0 lat0 lon lat east_m north_m".split(), rows)

rows = []
for lon0, lat0 in origins:
    for reach in (0.0005, 0.1, 5.0, 60.0):
        lon = wrap(lon0 + rng.uniform(-reach, reach))
        lat = max(-89.0, min(89.0, lat0 + rng.uniform(-reach, reach)))
        g = Geodesic.WGS84.Inverse(lat0, lon0, lat, lon)
        rows.append([lon0, lat0, repr(lon), repr(lat), f"{g['s12']:.6f}", f"{g['azi1'] % 360:.9f}"])
write("geodesic.csv", "lon1 lat1 lon2 lat2 distance_m bearing_deg".split(), rows)

# Without grid files, which this crate does not have either: for EPSG:27700 a seven-parameter shift.
pyproj.network.set_network_enabled(False)
places = {27700: (-6, 50, 1.5, 58), 32630: (-5.5, 36, -0.5, 60), 32627: (-23, 40, -19, 66), 2154: (-4.5, 42.5, 7.5, 51), 32760: (175, -40, 179, -17)}
rows = []
for code, (west, south, east, north) in places.items():
    t = pyproj.Transformer.from_crs(4326, code, always_xy=True)
    for _ in range(6):
        lon, lat = rng.uniform(west, east), rng.uniform(south, north)
        x, y = t.transform(lon, lat)
        rows.append([f"EPSG:{code}", repr(lon), repr(lat), f"{x:.4f}", f"{y:.4f}"])
write("grid.csv", "grid lon lat east_m north_m".split(), rows)
