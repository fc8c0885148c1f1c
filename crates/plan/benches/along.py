#!/usr/bin/env python3
"""Has a general mixed-integer solver place the decoders of a layout on no panel, beside what this program found.

How to run, from the root of the repository:

    throwbar show addresses LAYOUT --json > plan.json
    python3 -m venv /tmp/peers
    /tmp/peers/bin/pip install highspy
    /tmp/peers/bin/python crates/plan/benches/along.py LAYOUT plan.json

LAYOUT holds turnouts with `at`, levers with `moves`, and a bench; nothing is fixed to an address, and decoders have eight outputs. Levers
whose machines stand alike are one customer group: x levers of a group are served from a place, k decoders stand there, 8 k >= the sum
of x, and no more decoders than this program bought. Written for highspy 1.16.
"""

import json
import sys
import time
import tomllib
from collections import Counter

import highspy

OUTPUTS = 8


def distances(runs, slack):
    """Metres of cable between all places, by relaxing every run until nothing is shorter."""
    places = sorted({name for run in runs for name in (run["from"], run["to"])})
    metres = {(a, b): 0.0 if a == b else float("inf") for a in places for b in places}
    for run in runs:
        length = float(run["length"].removesuffix(" cm")) / 100 * (1 + slack)
        for pair in ((run["from"], run["to"]), (run["to"], run["from"])):
            metres[pair] = min(metres[pair], length)
    for via in places:
        for a in places:
            for b in places:
                metres[a, b] = min(metres[a, b], metres[a, via] + metres[via, b])
    return places, metres


def main(layout, plan):
    with open(layout, "rb") as file:
        described = tomllib.load(file)
    with open(plan, encoding="utf-8") as file:
        ours = json.load(file)["cost"]
    bench = described["bench"]
    places, metres = distances(bench["runs"], float(bench["slack"].removesuffix(" %")) / 100)
    at = {name: turnout["at"] for name, turnout in described["turnout"].items()}
    levers = [lever["moves"] for lever in described.get("lever", {}).values()]
    moved = {machine for moves in levers for machine in moves}
    levers += [[machine] for machine in at if machine not in moved]
    groups = Counter(tuple(sorted(at[machine] for machine in moves)) for moves in levers)

    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("time_limit", 600.0)
    whole = highspy.HighsVarType.kInteger
    decoders = {place: solver.addVariable(0, ours["bought"], 0, type=whole) for place in places}
    served = {
        (group, place): solver.addVariable(0, count, sum(metres[machine, place] for machine in group), type=whole)
        for group, count in groups.items()
        for place in places
    }
    for group, count in groups.items():
        solver.addConstr(sum(served[group, place] for place in places) == count)
    for place in places:
        solver.addConstr(sum(served[group, place] for group in groups) - OUTPUTS * decoders[place] <= 0)
    solver.addConstr(sum(decoders.values()) <= ours["bought"])
    began = time.perf_counter()
    solver.run()
    found = solver.getInfo()
    seconds = time.perf_counter() - began
    print(f"here: {ours['metres']} m, at least {ours['lower_bound']} m")
    print(f"general solver: {found.objective_function_value:.4f} m, at least {found.mip_dual_bound:.4f} m, {seconds:.1f} s")


main(*sys.argv[1:])
