"""Lists the stations of catalogue.tsv.gz whose phases are of local standard time instead of UTC.

    python3 other-clock.py catalogue.tsv.gz > other-clock.tsv        (needs numpy)

Two stations are held against each other by M2, S2, N2, K1 and O1: each weighs by the smaller of its two amplitudes, and
they part by the weighted mean of 1 - cos(difference of the phases), 0 for the same tide at the same time and 2 for one upside
down. A neighbour is one of the eight nearest within 30 km with a range of 0.3 m or more (twice the sum of M2, S2, K1 and O1).

A station is of local standard time by a neighbour that it parts from by more than 0.3 as it stands and by less than 0.05
when its phases are moved by its place's offset of standard time, where the way in does not explain it: up a river the
tide comes later and ranges less, and a station that keeps a clock behind UTC is early. So it must range no more than 1.15
times as far as the neighbour (west of Greenwich; east of it, no less). It goes as it stands with one that it parts from by
less than 0.1.

Listed are, first, agencies of which several stations are of local standard time by neighbours of other agencies and none goes
with them as it stands but those named in RIGHT; all others of these are listed, whether or not a neighbour tells. Secondly
stations of no such agency with three neighbours or more that say so and none that they go with as they stand. Offsets of an
hour are not looked for: rivers delay the tide by as much.
"""

import gzip
import sys
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

SPEEDS = {"M2": 28.9841042, "S2": 30.0, "N2": 28.4397295, "K1": 15.0410686, "O1": 13.9430356}
AGENCIES = ("usa-sfwmd", "usa-cm")
RIGHT = ("ticon/morro_bay_coast_guard_pier-mor-usa-cm", "ticon/los_osos_creek_bridge-los-usa-cm")

with gzip.open(sys.argv[1], "rt") as packed:
    heads = packed.readline().rstrip("\n").split("\t")
    rows = [dict(zip(heads, line.rstrip("\n").split("\t"))) for line in packed]
pairs = [dict(x.split("=") for x in r["constituents"].split()) for r in rows]
value = lambda p, name, i: float(p[name].split(",")[i]) if name in p else 0.0
amplitude = np.array([[value(p, name, 0) / 1e5 for name in SPEEDS] for p in pairs])
phase = np.radians([[value(p, name, 1) / 100 for name in SPEEDS] for p in pairs])
speed = np.radians(list(SPEEDS.values()))
lon, lat = (np.array([float(r[c]) for r in rows]) for c in ("lon_deg", "lat_deg"))
ids = [r["id"] for r in rows]
agency = ["-".join(i.split("-")[-2:]) if i.startswith("ticon") else i.split("/")[0] for i in ids]
range_m = 2 * amplitude[:, [0, 1, 3, 4]].sum(1)


def standard_h(zone):
    of = [datetime(2020, month, 15, tzinfo=ZoneInfo(zone)).utcoffset().total_seconds() / 3600 for month in (1, 7)]
    return min(of)


hours = [standard_h(r["time_zone"]) for r in rows]


def part(i, k, moved_h):
    weight = np.minimum(amplitude[i], amplitude[k])
    return (weight * (1 - np.cos(phase[i] - phase[k] - speed * moved_h))).sum() / weight.sum()


def away_km(i):
    east = ((lon - lon[i] + 180) % 360 - 180) * np.cos(np.radians(lat[i]))
    return np.hypot(east, lat - lat[i]) * 111.2


def told(i, left_out):
    away = away_km(i)
    near = [k for k in np.argsort(away) if k != i and away[k] <= 30 and range_m[k] >= 0.3 and k not in left_out][:8]
    moved, stands = [], []
    for k in near:
        as_it_is = part(i, k, 0)
        explained = range_m[i] > 1.15 * range_m[k] if hours[i] < 0 else range_m[k] > 1.15 * range_m[i]
        if as_it_is > 0.3 and part(i, k, hours[i]) < 0.05 and not explained:
            moved.append(k)
        elif as_it_is < 0.1:
            stands.append(k)
    return near, moved, stands, away


whole = {i for i in range(len(ids)) if agency[i] in AGENCIES and ids[i] not in RIGHT}
single = set()
for i in range(len(ids)):
    if i not in whole and abs(hours[i]) >= 2 and range_m[i] >= 0.3:
        _, moved, stands, _ = told(i, whole)
        if len(moved) >= 3 and not stands:
            single.add(i)
print("id\thours\tby\tneighbours\tmoved\tas_it_stands\tnearest_of_another_agency")
for i in sorted(whole | single, key=lambda i: ids[i]):
    near, moved, stands, away = told(i, whole | single)
    others = [k for k in range(len(ids)) if k not in whole | single and agency[k] != agency[i] and range_m[k] >= 0.1]
    k = min(others, key=lambda k: away[k])
    beside = f"{ids[k]} {away[k]:.1f} km: {part(i, k, 0):.2f} as it stands, {part(i, k, hours[i]):.2f} moved"
    by = "neighbours" if moved else "agency"
    print(f"{ids[i]}\t{hours[i]:+.0f}\t{by}\t{len(near)}\t{len(moved)}\t{len(stands)}\t{beside}")
