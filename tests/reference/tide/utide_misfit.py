"""What utide.solve leaves of gauge records (root mean square), for tests/rooms/tide/analysis.rs.

    pip install utide==0.4.0
    python utide_misfit.py record.txt misfit.tsv

Three records are made of record.txt (see utide_solve.py): the whole year; its first 35 days; and these with weather
that comes and goes in 2.7 days on top, 0.36 m root mean square. Ordinary least squares, exact nodal terms; for 35 days
the constituents that these tell apart.
"""
import math, sys, warnings
import numpy as np
import pandas as pd
import utide

warnings.filterwarnings("ignore")
YEAR = "M2 S2 N2 K2 K1 O1 P1 Q1 M4 MS4 MN4 M6 MU2 NU2 L2 SSA 2SM2 2MS6 M3".split()
MONTH = "M2 S2 N2 K1 O1 Q1 M4 MS4 MN4 M6 MU2 M3".split()
mm = [float("nan") if v == "-" else float(v) for v in open(sys.argv[1], encoding="utf-8").read().split("\n")[1:] if v]
year = np.array(mm) / 1000.0
month = year[: 35 * 24]
weather = np.array([0.36 * math.sqrt(2.0) * math.sin(i / 24.0 * 2.3) for i in range(len(month))])
with open(sys.argv[2], "w", encoding="utf-8") as f:
    f.write(f"# utide {utide.__version__}, utide.solve and utide.reconstruct\nrecord\tconstituents\tmisfit_m\n")
    for name, h, constit in [("year", year, YEAR), ("month", month, MONTH), ("weather", month + weather, MONTH)]:
        t = pd.date_range("2019-02-03", periods=len(h), freq="h")
        coef = utide.solve(t, h, lat=50.1, constit=constit, method="ols", conf_int="none", trend=False, nodal=True,
                           verbose=False)
        back = utide.reconstruct(t, coef, verbose=False, min_SNR=0, min_PE=0, constit=constit)["h"]
        f.write(f"{name}\t{' '.join(constit)}\t{math.sqrt(np.nanmean((h - back) ** 2)):.6f}\n")
