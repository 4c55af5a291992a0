"""Reads an exported ADIF text file (adif-io, PyPI), ADX file (ElementTree), CSV file (csv) and
GPX file (gpxpy, PyPI): exports.py ADI ADX CSV GPX. Prints what they hold as JSON."""

import csv
import json
import sys
import xml.etree.ElementTree as ElementTree

import adif_io
import gpxpy

adi, adx, table, way = sys.argv[1:]

records, _ = adif_io.read_from_file(adi)
told = {"adi": [dict(record) for record in records]}

root = ElementTree.parse(adx).getroot()
told["adx"] = [
    {field.tag: field.text for field in record} for record in root.findall("./RECORDS/RECORD")
]
told["adx_version"] = root.findtext("./HEADER/ADIF_VER")

with open(table, newline="", encoding="utf-8") as file:
    told["csv"] = list(csv.DictReader(file, strict=True))

with open(way, encoding="utf-8") as file:
    gpx = gpxpy.parse(file, version="1.1")
told["waypoints"] = [
    {
        "name": point.name,
        "lat": point.latitude,
        "lon": point.longitude,
        "time": point.time.isoformat(),
    }
    for point in gpx.waypoints
]
told["tracks"] = [track.name for track in gpx.tracks]
points = [point for track in gpx.tracks for piece in track.segments for point in piece.points]
told["points"] = len(points)
told["in_order"] = all(a.time < b.time for a, b in zip(points, points[1:]))
told["length_m"] = gpx.length_2d()
json.dump(told, sys.stdout)
