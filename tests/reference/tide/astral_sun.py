"""Sunrise, sunset and civil twilight by astral, for tests/rooms/sun.rs.

    pip install astral==3.2
    python astral_sun.py > astral_sun.tsv

For dawn, sunrise, sunset and dusk: Unix seconds as astral gives them, and after a slash the second at
which astral's own elevation (without refraction) passes -6 or -0.833 degrees. The two differ by more
than a minute where the sun skims the horizon, because the first takes the declination of another
moment. "-" where astral says that the sun does not reach the altitude that day (UTC days).
"""
import datetime as dt
import importlib.metadata
import random
from astral import Observer
import astral.sun

random.seed(11)


def elevation(observer, second):
    return astral.sun.elevation(observer, dt.datetime.fromtimestamp(second, dt.timezone.utc), with_refraction=False)


def refined(observer, second, altitude):
    lo, hi = second - 900, second + 900
    rising = elevation(observer, hi) > altitude
    if (elevation(observer, lo) > altitude) == rising:
        return "-"
    while hi - lo > 1:
        mid = (lo + hi) // 2
        if (elevation(observer, mid) > altitude) == rising:
            hi = mid
        else:
            lo = mid
    return str(hi)


print(f"# astral {importlib.metadata.version('astral')}")
print("lon_deg\tlat_deg\tdate\tdawn\tsunrise\tsunset\tdusk")
for _ in range(160):
    lon, lat = round(random.uniform(-12, 12), 3), round(random.uniform(-64.9, 64.9), 3)
    date = dt.date(2000, 1, 1) + dt.timedelta(days=random.randrange(35 * 365))
    out = []
    for f, altitude in ((astral.sun.dawn, -6), (astral.sun.sunrise, -0.833), (astral.sun.sunset, -0.833), (astral.sun.dusk, -6)):
        kw = {"depression": 6} if altitude == -6 else {}
        observer = Observer(lat, lon, 0)
        try:
            second = int(f(observer, date=date, **kw).timestamp())
            out.append(f"{second}/{refined(observer, second, altitude)}")
        except ValueError:
            out.append("-")
    print("\t".join([str(lon), str(lat), date.isoformat()] + out))
