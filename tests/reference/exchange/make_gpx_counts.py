"""Counts of GPX files as PyPI gpxpy 1.6.2 counts them: `python make_gpx_counts.py samples > gpx_counts.csv`;
check.py counts that library's own sample files the same way. Empty segments and a segment's absence are
not counted; an invalid file gets no counts but the library's word `invalid`."""
import csv
import pathlib
import sys

import gpxpy


def counts(path):
    try:
        gpx = gpxpy.parse(path.read_bytes())
    except Exception:
        return ["invalid"]
    segments = [s for t in gpx.tracks for s in t.segments if s.points]
    return [
        "read",
        len(gpx.tracks),
        len(segments),
        sum(len(s.points) for s in segments),
        len(gpx.routes),
        sum(len(r.points) for r in gpx.routes),
        len(gpx.waypoints),
    ]


if __name__ == "__main__":
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow("file status tracks segments track_points routes route_points waypoints".split())
    for path in sorted(pathlib.Path(sys.argv[1]).glob("*.gpx")):
        row = counts(path)
        out.writerow([path.name, *row, *[""] * (7 - len(row))])
