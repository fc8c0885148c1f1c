#!/usr/bin/env python3
"""Times a general mixed-integer solver on the placement cases, beside this program's own solver, in one run.

How to run, on a quiet machine, from the root of the repository:

    cargo build --release -p xtask
    python3 -m venv /tmp/peers
    /tmp/peers/bin/pip install highspy
    /tmp/peers/bin/python crates/plan/benches/peers.py CASE.json ...

The model is the usual one: a customer goes to one open facility (x <= y), capacities hold with y, every variable whole. Both have to
prove the optimum; the best of five runs of each counts, without reading the file. Written for highspy 1.16.
"""

import json
import subprocess
import sys
import time

import highspy


def theirs(case):
    """Seconds of the general solver, and the cost it proves."""
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("mip_rel_gap", 0.0)
    whole = highspy.HighsVarType.kInteger
    facilities, customers, cost = case["facilities"], case["customers"], case["cost"]
    opened = [solver.addVariable(0, 1, facility["fixed_cost"], type=whole) for facility in facilities]
    serves = [[solver.addVariable(0, 1, value, type=whole) for value in row] for row in cost]
    for customer in range(len(customers)):
        solver.addConstr(sum(row[customer] for row in serves) == 1)
    for facility, row in enumerate(serves):
        load = sum(customers[customer]["demand"] * one for customer, one in enumerate(row))
        solver.addConstr(load - facilities[facility]["capacity"] * opened[facility] <= 0)
        for one in row:
            solver.addConstr(one - opened[facility] <= 0)
    began = time.perf_counter()
    solver.run()
    return time.perf_counter() - began, solver.getInfo().objective_function_value


def ours(path):
    """Seconds of this program's solver, and the cost it proves."""
    ran = subprocess.run(["target/release/xtask", "solve", "placement", path], capture_output=True, check=True)
    answer = json.loads(ran.stdout)
    assert answer["proven"], path
    return answer["seconds"], answer["cost"]


for path in sys.argv[1:]:
    with open(path, encoding="utf-8") as file:
        case = json.load(file)
    own = min(ours(path) for _ in range(5))
    peer = min(theirs(case) for _ in range(5))
    assert abs(own[1] - peer[1]) < 1e-6 * peer[1], (path, own, peer)
    name = path.rsplit("/", 1)[-1]
    print(f"{name}: {own[0] * 1e3:.2f} ms, general solver {peer[0] * 1e3:.1f} ms, {peer[0] / own[0]:.0f} times as long")
