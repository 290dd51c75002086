"""Counts of every sample GPX file in the source package of PyPI gpxpy 1.6.2 (Apache-2.0), as that
library counts them: `pip download --no-binary gpxpy --no-deps gpxpy==1.6.2`, unpack, then
`python make_gpx_counts.py gpxpy-1.6.2/test_files > gpx_counts.csv`. Empty segments and a segment's
absence are not counted; an invalid file gets no counts but the library's word `invalid`."""
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
        if path.name.startswith("gpx_with_"):  # named after a maker; one waypoint with a plain extension
            continue
        row = counts(path)
        out.writerow([path.name, *row, *[""] * (7 - len(row))])
