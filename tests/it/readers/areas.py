"""Prints validity (shapely, BSD) and area in acres on the ellipsoid (GeographicLib, MIT) of each feature of a GeoJSON file.

Arguments: folder of the installs, file.
"""
import json
import sys

sys.path.insert(0, sys.argv[1])
from geographiclib.geodesic import Geodesic
from shapely.geometry import shape


def ring_m2(ring):
    polygon = Geodesic.WGS84.Polygon()
    for lon, lat in ring[:-1]:
        polygon.AddPoint(lat, lon)
    return polygon.Compute()[2]


def area_ac(geometry):
    parts = geometry["coordinates"] if geometry["type"] == "MultiPolygon" else [geometry["coordinates"]]
    return sum(ring_m2(ring) for part in parts for ring in part) / 4046.8564224


with open(sys.argv[2], encoding="utf-8") as file:
    features = json.load(file)["features"]
rows = [
    {
        "valid": shape(feature["geometry"]).is_valid,
        "area_ac": area_ac(feature["geometry"]),
        "rate": feature["properties"].get("RATE"),
    }
    for feature in features
]
print(json.dumps(rows))
