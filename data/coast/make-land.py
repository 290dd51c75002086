"""Packs Natural Earth's 1:50m land from the npm package world-atlas: `python3 make-land.py land-50m.json`."""
import gzip
import json
import struct
import sys

topology = json.load(open(sys.argv[1]))
scale, shift = topology["transform"]["scale"], topology["transform"]["translate"]
arcs = []
for arc in topology["arcs"]:
    x = y = 0
    line = []
    for dx, dy in arc:
        x, y = x + dx, y + dy
        line.append((x * scale[0] + shift[0], y * scale[1] + shift[1]))
    arcs.append(line)


def ring(indices):
    points = []
    for i in indices:
        arc = arcs[i] if i >= 0 else arcs[~i][::-1]
        points += arc if not points else arc[1:]
    return points


rings = []


def collect(geometry):
    if geometry["type"] == "GeometryCollection":
        for part in geometry["geometries"]:
            collect(part)
    elif geometry["type"] == "MultiPolygon":
        for polygon in geometry["arcs"]:
            rings.extend(ring(r) for r in polygon)
    elif geometry["type"] == "Polygon":
        rings.extend(ring(r) for r in geometry["arcs"])


collect(topology["objects"]["land"])


def packed(value, span):
    return max(-32768, min(32767, round(value / span * 32767)))


out = struct.pack("<I", len(rings))
for r in rings:
    out += struct.pack("<I", len(r) - 1)
    for x, y in r[:-1]:
        out += struct.pack("<hh", packed(x, 180), packed(y, 90))
open("land-50m.bin.gz", "wb").write(gzip.compress(out, 9, mtime=0))
