"""Writes numbers.csv: the emergency numbers of each country and the time zones by which a beach is known to lie in it.

    pip install phonenumbers==9.0.43 tzdata==2026.6
    python make.py
"""
import csv
import importlib.resources
import itertools
import pathlib

import phonenumbers

zones, names = {}, {}
tz = importlib.resources.files("tzdata") / "zoneinfo"
for line in (tz / "iso3166.tab").read_text().splitlines():
    if line and not line.startswith("#"):
        code, name = line.split("\t")
        names[code] = name
for line in (tz / "zone.tab").read_text().splitlines():
    if line and not line.startswith("#"):
        code, _, zone = line.split("\t")[:3]
        zones.setdefault(code, []).append(zone)

candidates = ["".join(d) for n in (2, 3, 4) for d in itertools.product("0123456789", repeat=n)]
# Numbers that answer for every service stand first; in North America and Australia their own before 112.
def first(code):
    own = {"AU": ["000"]}.get(code, ["911"] if phonenumbers.country_code_for_region(code) == 1 else [])
    return own + [n for n in ["112", "999", "911", "000", "111"] if n not in own]


with open(pathlib.Path(__file__).with_name("numbers.csv"), "w", newline="") as out:
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["country", "name", "numbers", "zones"])
    for code in sorted(zones):
        if code not in phonenumbers.shortdata._AVAILABLE_REGION_CODES:
            continue
        numbers = [n for n in candidates if phonenumbers.is_emergency_number(n, code)]
        order = first(code)
        numbers.sort(key=lambda n: (order.index(n) if n in order else len(order), len(n), n))
        if numbers:
            writer.writerow([code, names[code], " ".join(numbers), " ".join(sorted(zones[code]))])
