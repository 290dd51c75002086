"""A noisy hourly record of one year and what utide.solve finds in it, for tests/rooms/tide/analysis.rs.

    pip install utide==0.4.0
    python utide_solve.py record.txt solved.tsv

2N2 is not among them: utide gives it satellites of 18 % from the third-degree potential, which Schureman has
not. The record is made by utide.reconstruct from invented constants, plus white noise of 5 cm, with two gaps;
heights in whole millimetres, "-" for a missing hour. Ordinary least squares, exact nodal terms.
"""
import sys, warnings
import numpy as np
import pandas as pd
import utide

warnings.filterwarnings("ignore")
TRUE = {
    "M2": (1.20, 133.7), "S2": (0.41, 177.8), "N2": (0.24, 113.8), "K2": (0.11, 175.5), "K1": (0.09, 109.2),
    "O1": (0.06, 342.6), "P1": (0.03, 101.4), "Q1": (0.016, 289.9), "M4": (0.11, 167.5), "MS4": (0.07, 218.5),
    "MN4": (0.04, 139.3), "M6": (0.02, 329.2), "MU2": (0.05, 169.7), "NU2": (0.05, 106.5),
    "L2": (0.05, 138.2), "SSA": (0.023, 102.8), "2SM2": (0.02, 25.8), "2MS6": (0.02, 28.6), "M3": (0.01, 28.8),
}
t = pd.date_range("2019-02-03", periods=24 * 366, freq="h")
coef = utide.solve(t, np.random.default_rng(1).normal(size=len(t)), lat=50.1, constit=list(TRUE), method="ols",
                   conf_int="none", trend=False, nodal=True, verbose=False)
coef["A"] = np.array([TRUE[n][0] for n in coef["name"]])
coef["g"] = np.array([TRUE[n][1] for n in coef["name"]])
coef["mean"] = 3.265
h = utide.reconstruct(t, coef, verbose=False, min_SNR=0, min_PE=0, constit=list(coef["name"]))["h"]
h = np.round(h + np.random.default_rng(2).normal(scale=0.05, size=len(t)), 3)
h[1000:1300] = np.nan
h[5000:5007] = np.nan
with open(sys.argv[1], "w", encoding="utf-8") as f:
    f.write(f"# utide {utide.__version__}; hourly from {t[0].isoformat()}Z, millimetres\n")
    f.write("\n".join("-" if np.isnan(v) else str(round(v * 1000)) for v in h) + "\n")
found = utide.solve(t, h, lat=50.1, constit=list(TRUE), method="ols", conf_int="linear", white=True, trend=False,
                    nodal=True, verbose=False)
with open(sys.argv[2], "w", encoding="utf-8") as f:
    f.write(f"# utide {utide.__version__}, utide.solve; mean {found['mean']:.5f}\n")
    f.write("name\tamplitude_m\tphase_deg\tamplitude_ci95_m\tphase_ci95_deg\n")
    for i, n in enumerate(found["name"]):
        f.write(f"{n}\t{found['A'][i]:.5f}\t{found['g'][i]:.3f}\t{found['A_ci'][i]:.5f}\t{found['g_ci'][i]:.3f}\n")
