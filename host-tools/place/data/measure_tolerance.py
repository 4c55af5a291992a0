#!/usr/bin/env python3
"""How far the borders in areas.bin lie from a finer drawing of them.

    python3 measure_tolerance.py us-atlas-3.0.1.tgz world-atlas-2.0.2.tgz cb_2023_us_county_5m.shp

The last is the Census Bureau's own county file at 1:5,000,000, before us-atlas thinned it.
Needs numpy and scipy. Connecticut (new counties in 2022) and what lies north of 50 degrees
is left out. Prints the distances that README.md quotes.
"""

import json
import struct
import sys
import tarfile

import numpy as np
from scipy.spatial import cKDTree

RADIUS_M = 6_371_009
QUANTILES = [0.5, 0.9, 0.95, 0.99, 0.995]


def shapes(path):
    """Rings of a polygon shapefile (ESRI whitepaper, 1998), each an array of lon, lat."""
    raw = open(path, "rb").read()
    at = 100
    while at < len(raw):
        (words,) = struct.unpack(">i", raw[at + 4 : at + 8])
        record = raw[at + 8 : at + 8 + 2 * words]
        at += 8 + 2 * words
        parts, points = struct.unpack("<ii", record[36:44])
        starts = [*struct.unpack(f"<{parts}i", record[44 : 44 + 4 * parts]), points]
        xy = np.frombuffer(record, "<f8", 2 * points, 44 + 4 * parts).reshape(-1, 2)
        yield from (xy[a:b] for a, b in zip(starts, starts[1:]))


def topology(archive, member):
    with tarfile.open(archive) as tar:
        data = json.load(tar.extractfile(member))
    scale, translate = (np.array(data["transform"][key]) for key in ("scale", "translate"))
    return data, [np.cumsum(np.array(arc), axis=0) * scale + translate for arc in data["arcs"]]


def users(geometries):
    """The names of the areas that use each line."""
    found = {}
    for geometry in geometries:
        polygons = [geometry["arcs"]] if geometry["type"] == "Polygon" else geometry.get("arcs", [])
        for ref in (ref for polygon in polygons for ring in polygon for ref in ring):
            found.setdefault(ref if ref >= 0 else ~ref, set()).add(geometry["properties"]["name"])
    return found


def dense(lines, step_m):
    """Points in space along the lines, at most `step_m` apart."""
    out = []
    for line in lines:
        lon, lat = np.radians(line).T
        space = RADIUS_M * np.c_[np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)]
        for a, b in zip(space, space[1:]):
            share = np.arange(0, 1, step_m / max(np.linalg.norm(b - a), step_m))[:, None]
            out.append(a + (b - a) * share)
    return np.vstack(out)


def report(what, lines, reference):
    distance, _ = cKDTree(dense(reference, 60)).query(dense(lines, 500))
    print(what, ", ".join(f"{q:.1%} {v:.0f} m" for q, v in zip(QUANTILES, np.quantile(distance, QUANTILES))), sep=": ")


def south(lines):
    return [line for line in lines if line[:, 1].mean() < 50]


def main():
    us, world, shapefile = sys.argv[1:]
    rings = list(shapes(shapefile))
    connecticut = lambda ring: -73.8 < ring[:, 0].mean() < -71.7 and 40.9 < ring[:, 1].mean() < 42.1
    _, counties = topology(us, "package/counties-10m.json")
    report("counties", south(ring for ring in rings if not connecticut(ring)), south(counties))
    data, lines = topology(world, "package/countries-10m.json")
    used = users(data["objects"]["countries"]["geometries"])
    border = [line for at, line in enumerate(lines) if used.get(at) == {"United States of America", "Mexico"}]
    report("countries, border with Mexico", border, rings)


if __name__ == "__main__":
    main()
