"""The infant-death counts of North Carolina, 1974-78, for tests/rooms/reading/scan.rs. Run: python sids2.py > sids2.json

Counties, births (BIR74), deaths (SID74) and the centroids of their outlines, from the data set `sids2` of libpysal
(Symons, Grimson & Yuan 1983; Cressie & Read 1985). The clusters expected of them stand in table 1 of
*International Journal of Health Geographics* 2021, doi 10.1186/s12942-021-00298-6.
"""

import json

import libpysal
from libpysal.examples import get_path

outlines = libpysal.io.open(get_path("sids2.shp"))
table = libpysal.io.open(get_path("sids2.dbf"))
columns = {name: table.by_col(name) for name in ("NAME", "BIR74", "SID74")}
counties = [
    {"name": name, "births": int(births), "deaths": int(deaths), "lon": round(o.centroid[0], 5), "lat": round(o.centroid[1], 5)}
    for o, name, births, deaths in zip(outlines, columns["NAME"], columns["BIR74"], columns["SID74"])
]
print(json.dumps({"made_by": f"libpysal {libpysal.__version__}", "counties": counties}, indent=1))
