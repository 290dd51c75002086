"""The program against outside libraries, through its command line and its files only.

    python live.py PROGRAM DEMO_FOLDER DEMO.json

pyogrio (GDAL) reads every layer of the book and every GeoJSON file; scikit-learn clusters the same
finds; utide predicts the same heights; geographiclib measures the same baseline; scikit-learn fits the same depth gauge and the
same chance of hearing a target. Versions are those
of requirements.txt. Prints a line a check; ends with 1 when one fails.
"""

import json
import math
import subprocess
import sys
import tempfile
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pyogrio
import pyproj
import utide
from geographiclib.geodesic import Geodesic
from sklearn.cluster import DBSCAN, HDBSCAN
from sklearn.isotonic import IsotonicRegression
from sklearn.linear_model import LogisticRegression

warnings.filterwarnings("ignore")
program, folder, told_path = sys.argv[1], Path(sys.argv[2]), sys.argv[3]
told = json.load(open(told_path))
faults = 0


def check(what, good, figure=""):
    global faults
    faults += not good
    print(f"{'ok  ' if good else 'FAIL'} {what} {figure}")


def run(*args):
    return json.loads(subprocess.run([program, *args], check=True, capture_output=True).stdout)


def geopackage():
    book = folder / "tarrow-sands.gpkg"
    layers = {name: kind for name, kind in pyogrio.list_layers(book)}
    counts = told["beach"]["counts"]
    for layer, key in [("finds", "find"), ("signals", "signal"), ("zones", "zone"), ("accesses", "access"), ("levels", "level"),
                       ("permissions", "permission"), ("barriers", "barrier"), ("outings", "outing"), ("setups", "setup"), ("storms", "storm")]:
        if layer not in layers:
            check(f"GDAL lists the layer {layer}", False, sorted(layers))
            continue
        n = pyogrio.read_info(book, layer=layer)["features"]
        check(f"GDAL counts the records of {layer}", n == counts[key], f"{n} of {counts[key]}")
    info = pyogrio.read_info(book, layer="finds")
    check("GDAL knows the finds' reference system", info["crs"] == "EPSG:4326", info["crs"])
    tracks = pyogrio.read_info(book, layer="tracks")
    check("GDAL reads the tracks as lines with height and measure", "LineString" in tracks["geometry_type"], tracks["geometry_type"])


def geojson():
    for name, least in [("finds.geojson", 1000), ("zones.geojson", 3), ("clusters.geojson", 1), ("bands.geojson", 4)]:
        path = folder / name
        info = pyogrio.read_info(path)
        document = json.load(open(path))
        n = len(document["features"])
        check(f"GDAL reads {name}", info["features"] == n >= least, f"{n} features")
        check(f"{name} follows RFC 7946", "crs" not in document and len(document["bbox"]) == 4)
        wrong = [f for f in document["features"] for ring in rings(f["geometry"]) if signed_area(ring[0]) < 0 or any(signed_area(r) > 0 for r in ring[1:])]
        check(f"{name} winds by the right-hand rule", not wrong, len(wrong))


def rings(geometry):
    if geometry["type"] == "Polygon":
        return [geometry["coordinates"]]
    return geometry["coordinates"] if geometry["type"] == "MultiPolygon" else []


def signed_area(ring):
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:])) / 2


def clusters():
    reading = told["reading"]
    lon, lat = told["beach"]["origin"]
    plane = pyproj.Proj(proj="tmerc", lat_0=lat, lon_0=lon, k=1, ellps="WGS84")
    finds = pyogrio.raw.read(folder / "tarrow-sands.gpkg", layer="finds", columns=["uid"])
    uids = list(finds[3][0])
    points = [np.frombuffer(wkb[5:21], dtype="<f8") for wkb in finds[2]]
    order = np.argsort(uids)
    xy = np.array([plane(*points[i]) for i in order])
    uids = [uids[i] for i in order]
    run_of_all = next(r for r in reading["cluster_runs"] if r["of"] == "all")
    labels = DBSCAN(eps=run_of_all["distance_m"], min_samples=reading["params"]["cluster_points"]).fit(xy).labels_
    theirs = {frozenset(u for u, l in zip(uids, labels) if l == k) for k in set(labels) - {-1}}
    ours = {frozenset(c["uids"]) for c in reading["clusters"] if c["of"] == "all"}
    check("scikit-learn finds the same clusters", theirs == ours, f"{len(theirs)} and {len(ours)}")
    by_density = run("read", "--book", str(folder / "tarrow-sands.gpkg"), "--clusters", "hdbscan", "--least", "12", "--json")["reading"]
    labels = HDBSCAN(min_cluster_size=12, min_samples=12, copy=True).fit(xy).labels_
    ours = [set(c["uids"]) for c in by_density["clusters"] if c["of"] == "all"]
    # Points on the very edge of two clusters go to either by chance: scikit-learn leaves ties in any order.
    same = sum(max((len(o & t) for o in ours), default=0) for t in ({u for u, l in zip(uids, labels) if l == k} for k in set(labels) - {-1}))
    clustered = sum(labels >= 0)
    good = len(ours) == len(set(labels) - {-1}) and same >= 0.98 * clustered and abs(sum(map(len, ours)) - clustered) <= 0.02 * clustered
    check("scikit-learn's HDBSCAN finds the same clusters", good, f"{len(ours)} clusters, {same} of {clustered} finds")


def tides():
    station = told["beach"]["tide"]["id"]
    got = run("tides", "--station", station, "--from", "2026-03-01T00:00:00Z", "--days", "60", "--every", "10", "--json")
    times = pd.to_datetime([h["time"] for h in got["heights"]], utc=True).tz_localize(None)
    heights = np.array([h["m"] for h in got["heights"]])
    # utide analyses our own series: it must give back the constants that went in.
    used = {c["name"]: c["amplitude_m"] for c in got["constituents"]["used"]}
    coef = utide.solve(times, heights, lat=50.0, constit=["M2", "S2", "N2", "K1", "O1", "M4"], method="ols", conf_int="none", trend=False, verbose=False)
    found = dict(zip(coef["name"], coef["A"]))
    # Sixty days part these but leave the small neighbours of each inside it: K2 in S2, P1 in K1, NU2 in N2.
    for name, slack in [("M2", 0.03), ("N2", 0.25), ("M4", 0.25)]:
        ours = used.get(name, 0.0)
        check(f"utide finds {name} in our heights", abs(found[name] - ours) <= slack * ours + 0.01, f"{found[name]:.3f} of {ours:.3f} m")
    turns = got["turns"]
    highs = [t for t in turns if t["kind"] == "high"]
    top = heights.max()
    check("the highest high water is the top of the curve", abs(max(t["m"] for t in highs) - top) < 0.02, f"{top:.2f} m")


def earth():
    line = told["beach"]["baseline"]["positions"]
    length = sum(Geodesic.WGS84.Inverse(a[1], a[0], b[1], b[0])["s12"] for a, b in zip(line, line[1:]))
    ours = told["beach"]["baseline"]["length_m"]
    # Baselines are straightened a little where they bend too much to measure from, never by more than 2 %.
    check("geographiclib measures the same baseline", math.isclose(length, ours, rel_tol=0.02), f"{length:.1f} and {ours:.1f} m")


def rows(book, layer):
    """A table of the book as GDAL reads it."""
    meta, _, _, columns = pyogrio.raw.read(book, layer=layer, read_geometry=False)
    return pd.DataFrame(dict(zip(meta["fields"], columns)))


def bench():
    book = folder / "tarrow-sands.gpkg"
    readings = rows(book, "bench")
    setups = rows(book, "setups").set_index("uid")["name"]
    buried = readings[readings["kind"].notna() & readings["gauge_step"].notna()]
    for uid, of in buried.groupby("setup"):
        told = run("bench", "--book", str(book), "--setup", setups[uid], "--json")["setups"][0]
        line = IsotonicRegression(out_of_bounds="clip").fit(of["gauge_step"], of["depth_m"])
        ours = {s["step"]: s["depth_m"] for s in told["gauge"]["steps"]}
        theirs = {int(s): float(line.predict([s])[0]) for s in sorted(of["gauge_step"].unique())}
        worst = max(abs(ours[s] - theirs[s]) for s in theirs) if ours.keys() == theirs.keys() else math.inf
        # The program's figures have four decimals.
        check(f"scikit-learn fits the same gauge to \"{setups[uid]}\"", worst <= 5.1e-5, f"{worst:.1e} m at most")
    with tempfile.TemporaryDirectory() as dir:
        hearing(Path(dir))


def hearing(dir):
    """Two invented machines read on the same targets: so many that the program's weak prior hardly counts."""
    rng = np.random.default_rng(6)
    depth_cm = np.tile(np.repeat(np.arange(5, 45, 5), 40), 2)
    second = np.repeat([0, 1], len(depth_cm) // 2)
    heard = rng.random(len(depth_cm)) < 1 / (1 + np.exp(-(0.15 * (22 - depth_cm) + 1.0 * second)))
    with open(dir / "setups.csv", "w") as f:
        f.write("name,mode,coil_width_cm\nFirst,salt ground,28\nSecond,dry ground,28\n")
    with open(dir / "bench.csv", "w") as f:
        f.write("setup,target,kind,depth_cm,target_ids,time\n")
        for n, (d, s, h) in enumerate(zip(depth_cm, second, heard)):
            moment = pd.Timestamp("2026-01-01T00:00:00Z") + pd.Timedelta(seconds=n)
            f.write(f"{'Second' if s else 'First'},penny,coin,{d},{'60 61' if h else ''},{moment.isoformat()}\n")
    book = dir / "two.gpkg"
    subprocess.run([program, "beach", "--book", str(book), "--beach", "Invented", "--near=-20,45"], check=True, capture_output=True)
    for file in ("setups.csv", "bench.csv"):
        subprocess.run([program, "import", "--book", str(book), "--beach", "Invented", str(dir / file)], check=True, capture_output=True)
    told = run("bench", "--book", str(book), "--setup", "First", "--against", "Second", "--json")["comparison"]
    count = sum(side[1] for h in told["heard"] for side in (h["first"], h["second"]))
    check("every reading was taken in", count == len(depth_cm), f"{count} of {len(depth_cm)}")
    fit = LogisticRegression(C=1e12, tol=1e-10, max_iter=1000, solver="newton-cholesky").fit(np.c_[depth_cm / 100, second], heard)
    theirs, ours = float(np.exp(fit.coef_[0][1])), told["difference"]["odds_ratio"]
    check("scikit-learn fits the same odds of hearing", math.isclose(ours, theirs, rel_tol=0.03), f"{ours:.3f} and {theirs:.3f}")
    half = -fit.intercept_[0] / fit.coef_[0][0]
    reach = told["first_reach"]["half_m"]
    check("scikit-learn hears half at the same depth", math.isclose(reach, half, rel_tol=0.02), f"{reach:.4f} and {half:.4f} m")


for part in (geopackage, geojson, clusters, tides, earth, bench):
    part()
sys.exit(1 if faults else 0)
