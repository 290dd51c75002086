"""The run-up that a planned route keeps, worked out anew by py-wave-runup from the figures it states.

    python check.py PROGRAM FOLDER, where FOLDER holds the demo's book
"""
import json
import math
import subprocess
import sys

from py_wave_runup.models import Stockdon2006

program, folder = sys.argv[1:]
asked = [program, "route", "--book", f"{folder}/tarrow-sands.gpkg", "--rounds", "60", "--json"]
for more, source in [
    (["--after", "2026-09-26T00:00:00Z"], "record"),
    (["--after", "2026-12-01T00:00:00Z", "--head-torch"], "past"),
    (["--after", "2026-12-01T00:00:00Z", "--head-torch", "--sea", "0.9m,11s"], "asked"),
]:
    sea = json.loads(subprocess.run(asked + more, check=True, capture_output=True).stdout)["sea"]
    assert sea["from"] == source, sea
    steep = sea["slope"] + 2 * sea["slope_sd"]
    outside = Stockdon2006(Hs=sea["height_m"], Tp=sea["period_s"], beta=steep).R2
    # No steeper than the steepest sand that was measured: what is kept may be less than that of two deviations.
    mean = Stockdon2006(Hs=sea["height_m"], Tp=sea["period_s"], beta=sea["slope"]).R2
    assert mean - 1e-3 <= sea["run_up_computed_m"] <= outside + 1e-3, (sea, mean, outside)
    assert sea["run_up_m"] >= sea["run_up_computed_m"] and math.isfinite(outside)
    print(f"run-up from {source}: {sea['run_up_m']} m kept, py-wave-runup {mean:.3f} m on the mean slope, {outside:.3f} m two deviations steeper")
