#!/usr/bin/env python3
"""Times ngspice and scipy on the mesh of `circuit.rs`.

How to run, beside the bench, on the same machine:

    NETLIST=/tmp/mesh.cir cargo bench -p electric
    python3 -m venv /tmp/peers
    /tmp/peers/bin/pip install scipy
    /tmp/peers/bin/python crates/electric/benches/peers.py /tmp/mesh.cir [TIMES]

ngspice is timed as a whole program with `-b`, the printing of all voltages taken out of the netlist; that includes reading it. scipy is
given the matrix of loop conductances ready made, and its sparse solve (SuperLU) alone is timed. The best of TIMES (5 unless told)
counts. Written for ngspice 39 and scipy 1.18.
"""

import subprocess
import sys
import tempfile
import time

import numpy
import scipy
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve


def best(times, work):
    """The shortest of so many runs, in seconds."""
    spent = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        spent.append(time.perf_counter() - begun)
    return min(spent)


def main():
    path, times = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 5
    rows = open(path, encoding="utf-8").read().splitlines()
    quiet = [row for row in rows if not row.startswith("print")]
    with tempfile.NamedTemporaryFile("w", suffix=".cir") as netlist:
        netlist.write("\n".join(quiet) + "\n")
        netlist.flush()
        command = ["ngspice", "-b", netlist.name]
        spent = best(times, lambda: subprocess.run(command, capture_output=True, check=False))
    print(f"ngspice, whole program: {spent * 1000:.0f} ms")

    # The same circuit as loop conductances: `Rr` is half of a run, and the supply is 0.05 ohm at point 0.
    number = {}

    def point(name):
        return number.setdefault(name.lstrip("nm"), len(number))

    a, b, siemens = [], [], []
    drawn = {}
    for row in rows:
        words = row.split()
        if row.startswith("Rr") and not words[0].endswith("b"):
            a.append(point(words[1]))
            b.append(point(words[2]))
            siemens.append(1 / (2 * float(words[3])))
        elif row.startswith("Il"):
            drawn[point(words[1])] = drawn.get(point(words[1]), 0.0) + float(words[3])
    a, b, siemens = numpy.array(a), numpy.array(b), numpy.array(siemens)
    count = len(number)
    feed = number["0"]
    rows_of = numpy.concatenate([a, b, a, b, [feed]])
    columns = numpy.concatenate([a, b, b, a, [feed]])
    values = numpy.concatenate([siemens, siemens, -siemens, -siemens, [20.0]])
    matrix = coo_matrix((values, (rows_of, columns)), shape=(count, count)).tocsc()
    right = numpy.zeros(count)
    for at, amps in drawn.items():
        right[at] -= amps
    right[feed] += 15.0 * 20.0
    spent = best(times, lambda: spsolve(matrix, right))
    print(f"scipy {scipy.__version__}, sparse solve of {count} points: {spent * 1000:.1f} ms")


if __name__ == "__main__":
    main()
