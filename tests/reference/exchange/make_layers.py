"""Writes `layers.gpkg.gz`: a GeoPackage of an invented survey by pyogrio 0.13.0 (GDAL), packed with gzip. Run by hand."""

import gzip
import pathlib
import tempfile

import numpy as np
import pyogrio.raw
import pyproj
import shapely

HERE = pathlib.Path(__file__).parent
to_utm = pyproj.Transformer.from_crs(4326, 32627, always_xy=True)


def layer(path, layer_name, shapes, crs, sort, **fields):
    pyogrio.raw.write(
        path, np.array([shapely.to_wkb(s) for s in shapes], dtype=object), [np.array(v, dtype=object if isinstance(v[0], str) else float) for v in fields.values()], list(fields),
        layer=layer_name, driver="GPKG", crs=crs, geometry_type=sort, append=path.exists(),
    )


with tempfile.TemporaryDirectory() as folder:
    path = pathlib.Path(folder) / "layers.gpkg"
    places = [(-20.0001, 45.0001), (-20.0002, 45.0002)]
    layer(path, "dug", [shapely.Point(*p) for p in places], "EPSG:4326", "Point", what=["invented penny", "ring pull"],
          depth_cm=[12.5, 7.0], colour=["green", ""])
    layer(path, "levels", [shapely.Point(*to_utm.transform(*p), 1.25) for p in places], "EPSG:32627", "Point Z",
          level_m=[1.25, 0.75], survey=["spring", "spring"])
    ring = [(-20.001, 45.0), (-19.999, 45.0), (-19.999, 45.001), (-20.001, 45.001)]
    layer(path, "areas", [shapely.MultiPolygon([shapely.Polygon(ring)])], "EPSG:4326", "MultiPolygon", name=["bathing"], use=["bathing"])
    layer(path, "groynes", [shapely.LineString([(-20.0, 45.0), (-20.0, 45.0005)])], "EPSG:4326", "LineString", role=["barrier"],
          kind=["groyne"])
    layer(path, "elsewhere", [shapely.Point(1, 2)], "ESRI:54030", "Point", what=["lost"])
    (HERE / "layers.gpkg.gz").write_bytes(gzip.compress(path.read_bytes(), 9, mtime=0))
