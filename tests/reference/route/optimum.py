"""Exact optima of small orienteering cases with time windows, by OR-Tools CP-SAT.

Writes optimum.json: cases (stops, accesses, legs with the span in which each may be begun) with the
greatest value that any route has. Every case is solved to proven optimality.

    pip install ortools==9.15.6755
    python optimum.py
"""
import json
import pathlib
import random

import ortools
from ortools.sat.python import cp_model


def case(seed):
    rng = random.Random(seed)
    n = rng.randint(6, 10)
    gates = rng.randint(1, 3)
    horizon = 18000
    place = [(rng.uniform(0, 900), rng.uniform(0, 250)) for _ in range(n)]
    place += [(rng.uniform(0, 900), 0.0) for _ in range(gates)]
    stops = []
    for k in range(n):
        low = place[k][1] / 250  # the lower, the later it opens and the sooner it closes
        takes = rng.randint(900, 2400)
        opens = int(low * 6000 + rng.uniform(0, 1500))
        closes = int(horizon - low * 7000 - rng.uniform(0, 1500))
        closes = max(closes, opens + takes + rng.randint(0, 1200))
        stops.append({"value": round(rng.uniform(0.5, 5.0), 2), "takes_s": takes, "open_s": opens, "close_s": closes})
    windows = [[rng.randint(0, 1200), horizon - rng.randint(0, 3000)] for _ in range(gates)]
    legs = []
    for a in range(n + gates):
        row = []
        for b in range(n + gates):
            walk = int(((place[a][0] - place[b][0]) ** 2 + (place[a][1] - place[b][1]) ** 2) ** 0.5 / 0.9) + 5
            ways = [[walk, -horizon, 2 * horizon]]
            if rng.random() < 0.35:  # the short way floods: a detour stands beside it
                opens = rng.randint(1500, 6000)
                ways = [[walk, opens, opens + rng.randint(3000, 8000)], [walk * 2 + 120, -horizon, 2 * horizon]]
            row.append(ways)
        legs.append(row)
    return {"seed": seed, "stops": stops, "gates": windows, "legs": legs}


def optimum(c):
    n, g = len(c["stops"]), len(c["gates"])
    model = cp_model.CpModel()
    top = 40000
    begin = [model.NewIntVar(-top, top, f"b{k}") for k in range(n)]
    used = [model.NewBoolVar(f"u{k}") for k in range(n)]
    set_out = model.NewIntVar(-top, top, "set_out")
    back = model.NewIntVar(-top, top, "back")
    arcs = []
    depot = n
    for k in range(n):
        s = c["stops"][k]
        arcs.append((k, k, used[k].Not()))
        model.Add(begin[k] >= s["open_s"]).OnlyEnforceIf(used[k])
        model.Add(begin[k] + s["takes_s"] <= s["close_s"]).OnlyEnforceIf(used[k])

    def leg(a, b, lit, leave_from, reach_by):
        """Some way from a to b is taken: left at a moment when it is open, done in time."""
        choices = []
        for walk, opens, closes in c["legs"][a][b]:
            way = model.NewBoolVar("")
            leave = model.NewIntVar(-top, top, "")
            model.Add(leave >= leave_from).OnlyEnforceIf(way)
            model.Add(leave >= opens).OnlyEnforceIf(way)
            model.Add(leave <= closes).OnlyEnforceIf(way)
            model.Add(leave + walk <= reach_by).OnlyEnforceIf(way)
            choices.append(way)
        model.AddBoolOr(choices).OnlyEnforceIf(lit)

    for a in range(n):
        for b in range(n):
            if a != b:
                lit = model.NewBoolVar("")
                arcs.append((a, b, lit))
                leg(a, b, lit, begin[a] + c["stops"][a]["takes_s"], begin[b])
    # One arc to and from the depot a stop; which access it stands for is chosen beside it.
    for k in range(n):
        first, last = model.NewBoolVar(""), model.NewBoolVar("")
        arcs += [(depot, k, first), (k, depot, last)]
        from_gate = [model.NewBoolVar("") for _ in range(g)]
        to_gate = [model.NewBoolVar("") for _ in range(g)]
        model.AddBoolOr(from_gate).OnlyEnforceIf(first)
        model.AddBoolOr(to_gate).OnlyEnforceIf(last)
        for gate in range(g):
            model.Add(set_out >= c["gates"][gate][0]).OnlyEnforceIf(from_gate[gate])
            leg(n + gate, k, from_gate[gate], set_out, begin[k])
            model.Add(back <= c["gates"][gate][1]).OnlyEnforceIf(to_gate[gate])
            leg(k, n + gate, to_gate[gate], begin[k] + c["stops"][k]["takes_s"], back)
    # Redundant, but it lets the solver see at once that stops share one person's time.
    model.AddNoOverlap(
        [model.NewOptionalFixedSizeIntervalVar(begin[k], c["stops"][k]["takes_s"], used[k], "") for k in range(n)]
    )
    nothing = model.NewBoolVar("nothing")
    arcs.append((depot, depot, nothing))
    for k in range(n):
        model.AddImplication(nothing, used[k].Not())
    model.AddCircuit(arcs)
    model.Maximize(sum(int(round(c["stops"][k]["value"] * 100)) * used[k] for k in range(n)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.max_time_in_seconds = 120
    status = solver.Solve(model)
    assert status == cp_model.OPTIMAL, (c["seed"], solver.StatusName(status))
    return round(solver.ObjectiveValue()) / 100


if __name__ == "__main__":
    cases = []
    for seed in range(1, 61):
        c = case(seed)
        c["optimum"] = optimum(c)
        print(seed, len(c["stops"]), c["optimum"], flush=True)
        cases.append(c)
    out = {"made_with": f"ortools {ortools.__version__}, CP-SAT, proven optimal", "cases": cases}
    pathlib.Path(__file__).with_name("optimum.json").write_text(json.dumps(out, separators=(",", ":")) + "\n")
