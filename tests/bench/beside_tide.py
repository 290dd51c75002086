"""The tide's speed beside two other libraries, in one run on one machine.

    pip install utide==0.4.0
    npm install --prefix NPM @neaps/tide-predictor@0.11.0
    python tests/bench/beside_tide.py [--npm NPM]

From the top of the project. Runs `cargo bench --bench tide` (quick), then utide.reconstruct, utide.solve and
@neaps/tide-predictor on the same constants of the shipped catalogue (NOAA's station at Seattle: 34 of the 37
standard constituents, the others being zero there) over the same year, and prints a table of milliseconds: the
estimate of criterion for the program, the median of a few runs for the others. Without --npm the third column
stays empty.
"""
import argparse, gzip, json, os, statistics, subprocess, sys, tempfile, time, warnings
from pathlib import Path

import numpy as np
import pandas as pd
import utide

warnings.filterwarnings("ignore")
TOP = Path(__file__).resolve().parents[2]
STATION, START, END, STEP_S = "noaa/9447130", "2024-01-01T00:00:00Z", "2025-01-01T00:00:00Z", 360
# Names of the catalogue that utide writes otherwise, or not at all.
UTIDE = {"LAM2": "LDA2", "RHO": "RHO1", "EP2": "EPS2", "MM": "MM", "S1": "S1", "M1": None, "2MK3": None, "R2": "R2", "S6": None}


def constants():
    rows = gzip.open(TOP / "data/tides/catalogue.tsv.gz", "rt", encoding="utf-8").read().splitlines()
    head = rows[0].split("\t")
    station = next(s for s in (dict(zip(head, row.split("\t"))) for row in rows[1:]) if s["id"] == STATION)
    pairs = (pair.split("=") for pair in station["constituents"].split(" "))
    return {name: tuple(int(v) for v in values.split(",")) for name, values in pairs}, float(station["lat_deg"])


def ours():
    subprocess.run(["cargo", "bench", "--bench", "tide", "--", "--warm-up-time", "1", "--measurement-time", "3", "seattle|analysis"],
                   cwd=TOP, check=True, stdout=subprocess.DEVNULL)
    target = Path(os.environ.get("CARGO_TARGET_DIR", TOP / "target")) / "criterion"
    found = {}
    for path in target.glob("*/new/benchmark.json"):
        estimate = json.load(open(path.with_name("estimates.json")))
        found[json.load(open(path))["title"]] = estimate["median"]["point_estimate"] / 1e6
    pick = lambda *words: next((ms for title, ms in found.items() if all(w in title for w in words)), None)
    return {"heights": pick("seattle", "6 minutes"), "turns": pick("seattle", "turns"), "levels": pick("seattle", "HAT"),
            "analysis": pick("analysis of a year")}


def median_ms(job, runs):
    took = []
    for _ in range(runs):
        begun = time.perf_counter()
        job()
        took.append(1000 * (time.perf_counter() - begun))
    return statistics.median(took)


def by_utide(known, lat):
    names = {UTIDE.get(name, name): v for name, v in known.items() if UTIDE.get(name, name) and v[0] > 0}
    names = {n: v for n, v in names.items() if n in set(utide.ut_constants["const"]["name"])}
    hours = pd.date_range(START, END, freq="h", inclusive="left").tz_localize(None)
    solve = lambda h: utide.solve(hours, h, lat=lat, constit=sorted(names), method="ols", conf_int="linear", trend=False,
                                  nodal=True, verbose=False)
    coef = solve(np.random.default_rng(1).normal(size=len(hours)))
    coef["A"] = np.array([names[n][0] / 1e5 for n in coef["name"]])
    coef["g"] = np.array([names[n][1] / 100 for n in coef["name"]])
    coef["mean"] = 0.0
    steps = pd.date_range(START, END, freq=f"{STEP_S}s", inclusive="left").tz_localize(None)
    reconstruct = lambda t: utide.reconstruct(t, coef, verbose=False, min_SNR=0, min_PE=0, constit=list(coef["name"]))["h"]
    record = reconstruct(hours)
    return len(names), {"heights": median_ms(lambda: reconstruct(steps), 3), "analysis": median_ms(lambda: solve(record), 3)}


def by_neaps(known, folder):
    given = {
        "constituents": [{"name": n, "amplitude": a / 1e5, "phase": g / 100} for n, (a, g) in known.items() if a > 0],
        "start": START, "end": END, "step_s": STEP_S,
    }
    # The package is found beside the script that imports it.
    with tempfile.NamedTemporaryFile("w", suffix=".mjs", dir=folder, delete=False) as copy:
        copy.write(open(Path(__file__).with_suffix(".mjs")).read())
    try:
        out = subprocess.run(["node", copy.name], input=json.dumps(given), text=True, capture_output=True, check=True).stdout
    finally:
        os.unlink(copy.name)
    return {what: timed["ms"] for what, timed in json.loads(out).items()}


args = argparse.ArgumentParser(description="The tide's speed beside two other libraries.")
args.add_argument("--npm", help="the folder whose node_modules holds @neaps/tide-predictor")
npm = args.parse_args().npm
known, lat = constants()
mine = ours()
count, utides = by_utide(known, lat)
neaps = by_neaps(known, npm) if npm else {}
print(f"{STATION}, {sum(a > 0 for a, _ in known.values())} constituents ({count} of them in utide {utide.__version__}), "
      f"{START[:4]}, milliseconds")
print(f"{'':44}{'Scourline':>12}{'utide':>12}{'neaps':>12}")
LINES = [("heights", "a year of heights every 6 minutes"), ("turns", "a year of high and low waters"),
         ("levels", "HAT, LAT and the rest from 19 years"), ("analysis", "analysis of a year of hours")]
for key, words in LINES:
    cells = "".join(f"{'-' if side.get(key) is None else f'{side[key]:.1f}':>12}" for side in (mine, utides, neaps))
    print(f"{words:44}{cells}")
sys.exit(0 if all(mine.values()) else 1)
