"""The packs handed to two holders, read by pyogrio (GDAL): every layer, against the page, the tables and the manifest beside it.

    python check.py FOLDER ...
"""

import csv
import hashlib
import json
import sys
from pathlib import Path

import pyogrio
import shapely

faults = 0


def check(what, good, figure=""):
    global faults
    faults += not good
    print(f"{'ok  ' if good else 'FAIL'} {what} {figure}")


for folder in map(Path, sys.argv[1:]):
    print(f"  {folder.name}")
    manifest = json.loads((folder / "manifest.json").read_text())
    listed = {f["name"]: f for f in manifest["files"]}
    there = {p.name for p in folder.iterdir()} - {"manifest.json"}
    check("the manifest lists what is there and nothing else", set(listed) == there, sorted(set(listed) ^ there))
    sums = {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in there}
    check("each file has its checksum", all(listed[n]["sha256"] == s for n, s in sums.items()))
    for path in sorted(folder.glob("*.geojson")):
        info, _, geometry, _ = pyogrio.raw.read(path)
        shapes = [s for s in shapely.from_wkb(geometry) if s is not None]
        check(f"GDAL reads {path.name}", len(geometry) == len(json.loads(path.read_text())["features"]), f"{len(geometry)} features")
        check(f"{path.name} lies on WGS 84", info["crs"] in ("EPSG:4326", "OGC:CRS84"), info["crs"])
        check(f"the shapes of {path.name} are valid", all(s.is_valid and not s.is_empty for s in shapes))
        table = path.with_suffix(".csv")
        if table.exists():
            rows = list(csv.DictReader(table.open(encoding="utf-8-sig")))
            check(f"{table.name} has as many rows", len(rows) == len(geometry), f"{len(rows)}")
            frame = pyogrio.read_info(path)
            check(f"GDAL counts the same in {path.name}", frame["features"] == len(rows))

sys.exit(1 if faults else 0)
