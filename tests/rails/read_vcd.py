"""Reads DCC packets out of a value change dump, with no code of the product's, and prints them as one JSON object.

The file format is read by vcdvcd. The rules of bits and packets are spelled out below, from the standards alone:

NMRA S-9.1 (7 March 2020), section A, table 1: a decoder must take 52 to 64 us as half of a 1, and 90 to 10000 us as
half of a 0. NMRA S-9.2 (July 2004), section A: a packet is a preamble of 1 bits (at least 10 must have come), a 0,
eight bits with the most significant first, again and again a 0 and eight bits, and a 1 at the end. Section B, byte
three: the last byte is the exclusive or of all before it. S-9.2.1 (July 2012), introduction: 3 to 6 bytes.

Run by crates/throwbar/tests/it/captures.rs; by hand: tests/rails/.venv/bin/python tests/rails/read_vcd.py FILE.vcd
"""

import json
import sys
import time
from fractions import Fraction

from vcdvcd import VCDVCD


def edges_of(path):
    """Moments at which the one wire changes, in nanoseconds, the first being where the signal begins."""
    dump = VCDVCD(path)
    [name] = dump.signals
    step = Fraction(dump.timescale["timescale"]) * 1_000_000_000
    return [int(at) * step.numerator // step.denominator for at, _ in dump[name].tv]


def kind(length):
    """What a half bit of this many nanoseconds is: 1, 0, or None."""
    if 52_000 <= length <= 64_000:
        return 1
    if 90_000 <= length <= 10_000_000:
        return 0
    return None


def packets_of(edges):
    """Every packet: the moment its start bit begins, its bytes, and whether the last of them is right."""
    lengths = [after - before for before, after in zip(edges, edges[1:])]
    kinds = [kind(length) for length in lengths]
    found = []
    at = 0
    ones = 0
    while at < len(kinds):
        if kinds[at] == 1:
            ones += 1
            at += 1
            continue
        # The first 0 behind a preamble tells which half is the first of a bit.
        if kinds[at] != 0 or ones < 2 * 10:
            ones = 0
            at += 1
            continue
        ones = 0
        read = bytes_from(kinds, at)
        if read is None:
            at += 1
            continue
        data, behind = read
        total = 0
        for byte in data[:-1]:
            total ^= byte
        if 3 <= len(data) <= 6:
            found.append((edges[at], data, total == data[-1]))
        at = behind
    return found


def bytes_from(kinds, at):
    """The bytes of the packet whose start bit begins here, and the first half behind its end bit; None if it breaks."""

    def bit(place):
        halves = kinds[place : place + 2]
        if len(halves) == 2 and halves[0] == halves[1] and halves[0] is not None:
            return halves[0]
        return None

    data = []
    while True:
        start = bit(at)
        if start == 1 and data:
            return data, at + 2
        if start != 0 or len(data) > 6:
            return None
        byte = 0
        for place in range(at + 2, at + 18, 2):
            value = bit(place)
            if value is None:
                return None
            byte = byte << 1 | value
        data.append(byte)
        at += 18


begun = time.perf_counter()
edges = edges_of(sys.argv[1])
packets = packets_of(edges)
print(
    json.dumps(
        {
            "seconds": time.perf_counter() - begun,
            "edges": len(edges) - 1,
            "packets": [
                {"at_ns": at, "bytes": " ".join(f"{byte:02X}" for byte in data), "checksum_ok": right}
                for at, data, right in packets
            ],
        }
    )
)
