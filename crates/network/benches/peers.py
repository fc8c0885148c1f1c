#!/usr/bin/env python3
"""Times general graph libraries for Python on the grids of `routes.rs`.

Every simple path from corner to corner is enumerated, and every node of every path looked at, as the benches in
`routes.rs` do. Each grid is told twice: as plain nodes (an edge to the right and one up), and in the shape of tracks,
where a node is a track and the end it is run towards, the tracks that leave the grid among them.

How to run, beside `cargo bench -p network`, on the same machine:

    python3 -m venv /tmp/peers
    /tmp/peers/bin/pip install networkx rustworkx
    /tmp/peers/bin/python crates/network/benches/peers.py [TIMES]

TIMES is how often each is run (20 unless told); the best of them counts. Written for networkx 3.6 and rustworkx 0.18.
"""

import math
import platform
import sys
import time

import networkx
import rustworkx

GRIDS = [(5, 10), (7, 8)]


def plain(rows, columns):
    """Edges of the grid of plain nodes, with the two corners."""
    edges = []
    for row in range(rows):
        for column in range(columns):
            if column + 1 < columns:
                edges.append(((row, column), (row, column + 1)))
            if row + 1 < rows:
                edges.append(((row, column), (row + 1, column)))
    return edges, (0, 0), (rows - 1, columns - 1)


def tracks(rows, columns):
    """Edges of the grid of double slips: track and direction to track and direction."""
    edges = []
    for row in range(rows):
        for column in range(columns):
            for before in (("h", row, column), ("v", row, column)):
                for after in (("h", row, column + 1), ("v", row + 1, column)):
                    edges.append((before + (True,), after + (True,)))
                    edges.append((after + (False,), before + (False,)))
    return edges, ("h", 0, 0, True), ("h", rows - 1, columns, True)


def with_networkx(edges, start, goal):
    numbers = number(edges)
    graph = networkx.DiGraph((numbers[a], numbers[b]) for a, b in edges)
    start, goal = numbers[start], numbers[goal]
    return lambda: networkx.all_simple_paths(graph, start, goal)


def with_rustworkx(edges, start, goal):
    numbers = number(edges)
    graph = rustworkx.PyDiGraph()
    graph.add_nodes_from(range(len(numbers)))
    graph.add_edges_from_no_data([(numbers[a], numbers[b]) for a, b in edges])
    start, goal = numbers[start], numbers[goal]
    return lambda: rustworkx.all_simple_paths(graph, start, goal)


def number(edges):
    """Nodes as small integers, which both libraries like best."""
    numbers = {}
    for edge in edges:
        for node in edge:
            numbers.setdefault(node, len(numbers))
    return numbers


def walk(paths):
    """How many paths there are, and a sum that needs every node of every one."""
    count = nodes = 0
    for path in paths():
        count += 1
        nodes += sum(path)
    return count, nodes


def best_of(times, paths):
    best = math.inf
    count = 0
    for _ in range(times):
        start = time.perf_counter()
        count, _ = walk(paths)
        best = min(best, time.perf_counter() - start)
    return count, best


def main():
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    print(f"Python {platform.python_version()}, best of {times}")
    libraries = [("networkx", networkx, with_networkx), ("rustworkx", rustworkx, with_rustworkx)]
    for name, library, with_library in libraries:
        for shape in (plain, tracks):
            for rows, columns in GRIDS:
                edges, start, goal = shape(rows, columns)
                count, best = best_of(times, with_library(edges, start, goal))
                expected = math.comb(rows + columns - 2, rows - 1)
                assert count == expected, f"{count} paths, {expected} by the formula"
                heading = f"{name} {library.__version__}, {shape.__name__}, {rows} by {columns}"
                print(f"{heading:<40} {count:>6} paths {best * 1e3:>9.3f} ms")


if __name__ == "__main__":
    main()
