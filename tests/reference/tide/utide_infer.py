"""What utide.solve finds in 62 days of record.txt with six constituents inferred, for tests/rooms/tide/analysis.rs.

    pip install utide==0.4.0
    python utide_infer.py record.txt inferred.tsv

The first 62 days of record.txt (see utide_solve.py) cannot tell K2 and T2 from S2, NU2 from N2, P1 from K1, RHO1 from Q1
nor 2N2 from MU2. Each is inferred by the ratio of the equilibrium tide with no lag. Ordinary least squares, exact nodal
terms, inference exact (not approximate).
"""
import sys, warnings
import numpy as np
import pandas as pd
import utide
from utide.utilities import Bunch

warnings.filterwarnings("ignore")
OWN = "M2 S2 N2 K1 O1 Q1 M4 MS4 MN4 M6 MU2 L2 2SM2 2MS6 M3 MM MF MSF".split()
INFER = Bunch(
    inferred_names=["K2", "T2", "NU2", "2N2", "P1", "RHO1"],
    reference_names=["S2", "S2", "N2", "N2", "K1", "Q1"],
    amp_ratios=[0.272, 0.059, 0.194, 0.133, 0.331, 0.19],
    phase_offsets=[0.0] * 6,
)
mm = [float("nan") if v == "-" else float(v) for v in open(sys.argv[1], encoding="utf-8").read().split("\n")[1:] if v]
h = np.array(mm[: 62 * 24]) / 1000.0
t = pd.date_range("2019-02-03", periods=len(h), freq="h")
found = utide.solve(t, h, lat=50.1, constit=OWN, infer=INFER, method="ols", conf_int="none", trend=False, nodal=True,
                    verbose=False)
with open(sys.argv[2], "w", encoding="utf-8") as f:
    f.write(f"# utide {utide.__version__}, utide.solve with infer; mean {found['mean']:.5f}\n")
    f.write("name\tamplitude_m\tphase_deg\n")
    for i, n in enumerate(found["name"]):
        f.write(f"{n}\t{found['A'][i]:.5f}\t{found['g'][i]:.3f}\n")
