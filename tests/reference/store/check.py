"""Reads a book with GDAL and compares it with what the book should hold.

    python check.py BOOK.gpkg EXPECTED.json

Both files come from `cargo test --test rooms -- --ignored store::elsewhere`, written into the folder that
the variable SCOURLINE_STORE_OUT names. Tried with pyogrio 0.13.0 (GDAL 3.12.4) and shapely 2.2.0.
Afterwards GDAL writes a find and a layer of its own into a copy, BOOK.gpkg-edited.gpkg, which
`cargo test --test rooms -- --ignored after_gdal` opens.

The files also pass the validator in the PyPI package gdal-utils 3.13.3.0 (run without the osgeo module):
`python osgeo_utils/samples/validate_gpkg.py --extra --warning-as-error BOOK.gpkg`.
"""

import json
import math
import shutil
import sqlite3
import sys
import warnings

import numpy as np
import pyogrio
import shapely

book, expected_path = sys.argv[1:3]
expected = json.load(open(expected_path))["tables"]
faults = []

TYPES = {
    "accesses": "Point", "barriers": "Unknown", "baselines": "LineString", "beaches": "Point", "finds": "Point",
    "levels": "Point Z", "permissions": "MultiPolygon", "plans": "LineString", "signals": "Point",
    "tracks": "LineString Z", "zones": "MultiPolygon",
}  # fmt: skip


def fault(*words):
    faults.append(" ".join(str(w) for w in words))


def same(got, want):
    if want is None:
        return got is None or (isinstance(got, float) and math.isnan(got)) or str(got) in ("NaT", "None")
    if isinstance(want, bool):
        return bool(got) == want
    if isinstance(want, (int, float)):
        return abs(float(got) - want) < 1e-12
    if isinstance(got, (np.datetime64,)):
        text = str(got)
        if len(want) == 10:
            return text[:10] == want
        return abs((np.datetime64(want.rstrip("Z")) - got) / np.timedelta64(1, "ms")) < 1
    return str(got) == want


def positions(geometry, width):
    """Every position of a geometry in order, as wide as the expected one, None for NaN."""
    flat = shapely.get_coordinates(geometry, include_z=width > 2, include_m=width > 3)
    return [[None if math.isnan(v) else v for v in row] for row in flat.tolist()]


def with_m(table):
    """Geometries as shapely reads them from the bare WKB: pyogrio passes on X, Y and Z, but not M."""
    with sqlite3.connect(book) as file:
        blobs = file.execute(f'SELECT geom FROM "{table}" ORDER BY fid').fetchall()
    # Behind 8 bytes of header and an envelope of 4 numbers.
    return [shapely.from_wkb(blob[40:]) for (blob,) in blobs]


with warnings.catch_warnings(record=True) as caught:
    warnings.simplefilter("always")
    layers = {name: kind for name, kind in pyogrio.list_layers(book)}
if not any("Original type 'Measured 3D LineString'" in str(w.message) for w in caught):
    fault("GDAL does not see a measured line with heights among the layers")
warnings.filterwarnings("ignore", message="Measured")
# Beside the records stand what the book says of itself and its history.
wanted = set(expected) | {"scourline_book", "scourline_changes"}
if set(layers) != wanted:
    fault("layers differ:", sorted(set(layers) ^ wanted))
for name, kind in TYPES.items():
    if layers.get(name) != kind:
        fault(name, "is listed as", layers.get(name), "not", kind)

rows = 0
for name, want_rows in expected.items():
    meta, _, geometry, columns = pyogrio.raw.read(book, layer=name)
    if name in TYPES and meta["crs"] != "EPSG:4326":
        fault(name, "has the reference system", meta["crs"])
    fields = dict(zip(meta["fields"], columns))
    count = len(columns[0])
    if count != len(want_rows) or pyogrio.read_info(book, layer=name)["features"] != count:
        fault(name, "has", count, "rows, not", len(want_rows))
        continue
    key = [c for c in ("uid", "beach", "storm", "tide_table", "gauge") if c in want_rows[0]][:1]
    key += [c for c in ("segment", "number") if c in want_rows[0]]
    index = {tuple(str(fields[c][i]) for c in key): i for i in range(count)}
    for want in want_rows:
        rows += 1
        i = index.get(tuple(str(want[c]) for c in key))
        if i is None:
            fault(name, "has no row", [want[c] for c in key])
            continue
        for column, value in want.items():
            if column == "geometry":
                got = shapely.from_wkb(geometry[i])
                coordinates = value["coordinates"]
                if len(coordinates[0]) > 3:
                    if positions(got, 3) != [c[:3] for c in coordinates]:
                        fault(name, "row", i, "has other positions for GDAL")
                    got = with_m(name)[i]
                if got.geom_type != value["type"]:
                    fault(name, "row", i, "is a", got.geom_type, "not a", value["type"])
                elif positions(got, len(coordinates[0])) != coordinates:
                    fault(name, "row", i, "has other positions")
            elif not same(fields[column][i], value):
                fault(name, "row", i, column, repr(fields[column][i]), "instead of", repr(value))
    if name in TYPES:
        bounds = pyogrio.read_info(book, layer=name, force_total_bounds=True)["total_bounds"]
        every = shapely.total_bounds(shapely.from_wkb(geometry))
        if not np.allclose(bounds, every, rtol=0, atol=1e-12):
            fault(name, "states the bounds", bounds, "but has", every)

# What a person does in a program for maps: a find more, in a layer written anew by GDAL's own hand.
edited = book + "-edited.gpkg"
shutil.copy(book, edited)
meta, _, geometry, columns = pyogrio.raw.read(edited, layer="finds", max_features=1)
fields = dict(zip(meta["fields"], columns))
pyogrio.raw.write(
    edited,
    layer="finds",
    append=True,
    geometry_type="Point",
    crs="EPSG:4326",
    geometry=np.array([shapely.to_wkb(shapely.Point(-20.0, 45.0))], dtype=object),
    field_data=[np.array([fields["beach"][0]], dtype=object), np.array(["coin"], dtype=object), np.array([0.25])],
    fields=["beach", "kind", "depth_m"],
)
pyogrio.raw.write(
    edited,
    layer="shells",
    append=True,
    geometry_type="Point",
    crs="EPSG:4326",
    geometry=np.array([shapely.to_wkb(shapely.Point(-20.0, 45.0))], dtype=object),
    field_data=[np.array(["cockle"], dtype=object)],
    fields=["name"],
)

for line in faults:
    print("differs:", line)
print(f"GDAL {'.'.join(map(str, pyogrio.__gdal_version__))}: {len(expected)} tables, {rows} rows compared, {len(faults)} differ")
sys.exit(1 if faults else 0)
