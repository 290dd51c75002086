"""Greatest score of one tour on three published cases with a hundred places, proven by OR-Tools CP-SAT.

The places are Solomon's (1987), Algorithms for the vehicle routing and scheduling problems with time window
constraints, Operations Research 35(2), 254-265; as orienteering cases by Righini & Salani (2009), Decremental
state space relaxation strategies and initialization heuristics for solving the orienteering problem with time
windows with dynamic programming, Computers & Operations Research 36(4), 1191-1203: a place scores its demand,
one tour from the depot and back by its due time, straight distances rounded down to a tenth.

The optima published there are, from memory, 320 (c101), 198 (r101) and 219 (rc101); what is checked
against is the optimum that this script proves afresh.

    pip install ortools==9.15.6755
    python solomon.py
"""
import json
import math
import pathlib

import ortools
from ortools.sat.python import cp_model

HERE = pathlib.Path(__file__).parent


def optimum(name):
    rows = [list(map(int, l.split())) for l in (HERE / "solomon" / f"{name}.txt").read_text().splitlines()[1:]]
    n = len(rows)
    # Tenths, so that distances rounded down to a tenth are whole numbers.
    walk = [[math.floor(math.dist(a[:2], b[:2]) * 10 + 1e-9) for b in rows] for a in rows]
    due_back = rows[0][4] * 10
    model = cp_model.CpModel()
    begin = [model.NewIntVar(r[3] * 10, r[4] * 10, "") for r in rows]
    used = [model.NewBoolVar("") for _ in rows]
    arcs = []
    for a in range(n):
        if a:
            arcs.append((a, a, used[a].Not()))
        for b in range(n):
            if a == b:
                continue
            ready = (rows[a][3] * 10 if a else 0) + rows[a][5] * 10 + walk[a][b]
            if b and ready > rows[b][4] * 10:
                continue
            if b == 0 and ready > due_back:
                continue
            lit = model.NewBoolVar("")
            arcs.append((a, b, lit))
            start = begin[a] if a else 0
            if b:
                model.Add(begin[b] >= start + rows[a][5] * 10 + walk[a][b]).OnlyEnforceIf(lit)
            else:
                model.Add(start + rows[a][5] * 10 + walk[a][0] <= due_back).OnlyEnforceIf(lit)
    model.AddCircuit(arcs)
    # Redundant: one person serves one place at a time.
    model.AddNoOverlap(
        [model.NewOptionalFixedSizeIntervalVar(begin[k], rows[k][5] * 10, used[k], "") for k in range(1, n)]
    )
    model.Maximize(sum(r[2] * u for r, u in zip(rows[1:], used[1:])))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 4
    solver.parameters.max_time_in_seconds = 900
    status = solver.Solve(model)
    assert status == cp_model.OPTIMAL, (name, solver.StatusName(status), solver.ObjectiveValue(), solver.BestObjectiveBound())
    return int(solver.ObjectiveValue())


if __name__ == "__main__":
    found = {}
    for name in ["c101", "r101", "rc101"]:
        found[name] = optimum(name)
        print(name, found[name], flush=True)
    out = {"made_with": f"ortools {ortools.__version__}, CP-SAT, proven optimal", "optimum": found}
    (HERE / "solomon.json").write_text(json.dumps(out, indent=1) + "\n")
