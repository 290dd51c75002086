"""Live cross-checks of the exchange room against libraries outside the project.

Needs PyPI gpxpy, pyogrio, shapely and jsonschema, `pip` and `npm`, and the network. Run from the
repository's root: `python tests/reference/exchange/check.py`. It

- fetches the source package of PyPI gpxpy 1.6.2 and compares the counts of every sample file;
- reads a GPX file written here with gpxpy;
- reads a GeoJSON file written here with pyogrio (GDAL): features, geometry types, ring direction;
- validates that file against the schema of npm geojson-schema 1.0.5.
"""
import json
import os
import pathlib
import subprocess
import sys
import tarfile
import tempfile

import gpxpy
import jsonschema
import pyogrio
import shapely

root = pathlib.Path(__file__).parents[3]
sys.path.insert(0, str(pathlib.Path(__file__).parent))
from make_gpx_counts import counts  # noqa: E402


def run_half(test, **env):
    command = ["cargo", "test", "--quiet", "--test", "rooms", f"exchange::outside::{test}", "--", "--ignored", "--exact"]
    subprocess.run(command, cwd=root, env={**os.environ, **env}, check=True, stdout=subprocess.DEVNULL)


def check_gpx_counts(work):
    fetch = [sys.executable, "-m", "pip", "download", "--quiet", "--no-binary", "gpxpy", "--no-deps", "gpxpy==1.6.2", "-d", str(work)]
    subprocess.run(fetch, check=True)
    with tarfile.open(next(work.glob("gpxpy-*.tar.gz"))) as archive:
        archive.extractall(work, filter="data")
    files = work / "gpxpy-1.6.2" / "test_files"
    run_half("count_gpx_files", SCOURLINE_GPX_DIR=str(files))
    told = dict(line.split("\t", 1) for line in (files / "counts.txt").read_text().splitlines())
    assert len(told) >= 29, told
    for name, said in sorted(told.items()):
        status, *numbers = counts(files / name)
        if status == "invalid":
            assert said.startswith("refused: "), (name, said)
            continue
        template = "{} track(s) with {} segment(s) and {} position(s), {} route(s) with {} position(s), {} waypoint(s)"
        assert said.endswith(template.format(*numbers)), (name, said, numbers)
    print(f"gpxpy: the same counts in {len(told)} files")


def check_written(work):
    run_half("write_samples", SCOURLINE_OUT_DIR=str(work))
    gpx = gpxpy.parse((work / "sample.gpx").read_text())
    assert (len(gpx.waypoints), len(gpx.routes), len(gpx.tracks)) == (3, 1, 1)
    point = gpx.tracks[0].segments[0].points[0]
    assert (gpx.tracks[0].name, point.elevation, point.satellites, point.horizontal_dilution) == ("walk & dig", 1.5, 9, 0.8)
    print("gpxpy: reads the GPX written here")

    path = work / "sample.geojson"
    info, _, geometry, _ = pyogrio.raw.read(path)
    shapes = shapely.from_wkb(geometry)
    types = sorted(s.geom_type for s in shapes)
    assert types == ["MultiLineString", "MultiPolygon", "Point", "Point", "Point", "Polygon"], types
    for shape in shapes:
        for polygon in getattr(shape, "geoms", [shape]):
            if polygon.geom_type == "Polygon":
                assert polygon.exterior.is_ccw and polygon.is_valid
    assert info["crs"] in ("EPSG:4326", "OGC:CRS84"), info["crs"]
    document = json.loads(path.read_text())
    assert [round(v, 6) for v in shapely.total_bounds(shapes)] == document["bbox"]
    print(f"pyogrio: reads {len(shapes)} features of the GeoJSON written here")

    subprocess.run(["npm", "install", "--silent", "--no-save", "--prefix", str(work), "geojson-schema@1.0.5"], check=True)
    package = work / "node_modules" / "geojson-schema"
    schema = json.loads((package / "FeatureCollection.json").read_text())
    jsonschema.validators.validator_for(schema)(schema).validate(document)
    print("geojson-schema: valid")


with tempfile.TemporaryDirectory() as directory:
    check_gpx_counts(pathlib.Path(directory))
    check_written(pathlib.Path(directory))
