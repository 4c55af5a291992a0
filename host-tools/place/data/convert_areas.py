#!/usr/bin/env python3
"""Turns the borders of two npm packages into areas.bin, the map inside the binary.

    npm pack us-atlas@3.0.1 world-atlas@2.0.2
    python3 convert_areas.py us-atlas-3.0.1.tgz world-atlas-2.0.2.tgz areas.bin

Standard library only. The same input gives the same bytes. README.md describes the
sources, their licences and the layout of the result.

Each border is kept once, as a line with the area on its left and on its right, on the
whole-number grid of the source: nothing is simplified further.
"""

import hashlib
import json
import struct
import sys
import tarfile
from collections import defaultdict

# (member, object, sha256 of the member, what the reader is told, licence, tolerance in metres)
LAYERS = [
    (
        "package/counties-10m.json",
        "counties",
        "145aaf5d1433352a6a1d8e86b5f149c7c653f9171baf14aaf75ee66575def1b0",
        "United States Census Bureau, cartographic boundaries 2017, 1:5,000,000, as in us-atlas 3.0.1",
        "public domain (work of the United States government)",
        1500,
    ),
    (
        "package/countries-10m.json",
        "countries",
        "3bc6f1d367a9bcec479841bae0e76092f512838411d0cef124e92eec4db45f79",
        "Natural Earth 4.1.0, Admin 0 countries, 1:10,000,000, as in world-atlas 2.0.2",
        "public domain (Natural Earth terms of use)",
        2500,
    ),
]

# Natural Earth shortens these for map labels; a log entry has room for the word.
FULL_NAMES = {
    "Antigua and Barb.": "Antigua and Barbuda",
    "Bosnia and Herz.": "Bosnia and Herzegovina",
    "Br. Indian Ocean Ter.": "British Indian Ocean Territory",
    "British Virgin Is.": "British Virgin Islands",
    "Cayman Is.": "Cayman Islands",
    "Central African Rep.": "Central African Republic",
    "Clipperton I.": "Clipperton Island",
    "Cook Is.": "Cook Islands",
    "Coral Sea Is.": "Coral Sea Islands",
    "Ashmore and Cartier Is.": "Ashmore and Cartier Islands",
    "Dem. Rep. Congo": "Democratic Republic of the Congo",
    "Dominican Rep.": "Dominican Republic",
    "Eq. Guinea": "Equatorial Guinea",
    "Faeroe Is.": "Faroe Islands",
    "Falkland Is.": "Falkland Islands",
    "Fr. Polynesia": "French Polynesia",
    "Fr. S. Antarctic Lands": "French Southern and Antarctic Lands",
    "Heard I. and McDonald Is.": "Heard Island and McDonald Islands",
    "Indian Ocean Ter.": "Indian Ocean Territories",
    "Macedonia": "North Macedonia",
    "Marshall Is.": "Marshall Islands",
    "N. Cyprus": "Northern Cyprus",
    "N. Mariana Is.": "Northern Mariana Islands",
    "Pitcairn Is.": "Pitcairn Islands",
    "S. Geo. and the Is.": "South Georgia and the South Sandwich Islands",
    "S. Sudan": "South Sudan",
    "Solomon Is.": "Solomon Islands",
    "Spratly Is.": "Spratly Islands",
    "St-Barthélemy": "Saint Barthélemy",
    "St-Martin": "Saint Martin",
    "St. Kitts and Nevis": "Saint Kitts and Nevis",
    "St. Pierre and Miquelon": "Saint Pierre and Miquelon",
    "St. Vin. and Gren.": "Saint Vincent and the Grenadines",
    "Turks and Caicos Is.": "Turks and Caicos Islands",
    "U.S. Minor Outlying Is.": "United States Minor Outlying Islands",
    "U.S. Virgin Is.": "United States Virgin Islands",
    "W. Sahara": "Western Sahara",
    "Wallis and Futuna Is.": "Wallis and Futuna Islands",
    "eSwatini": "Eswatini",
}


def varint(value):
    out = bytearray()
    while value > 127:
        out.append(value & 127 | 128)
        value >>= 7
    out.append(value)
    return bytes(out)


def zigzag(value):
    return varint(value * 2 if value >= 0 else -value * 2 - 1)


def text(value):
    raw = value.encode()
    return varint(len(raw)) + raw


def path(points):
    out = bytearray(varint(len(points)))
    px = py = 0
    for x, y in points:
        out += zigzag(x - px) + zigzag(y - py)
        px, py = x, y
    return bytes(out)


def absolute(arcs):
    lines = []
    for arc in arcs:
        x = y = 0
        line = []
        for dx, dy in arc:
            x, y = x + dx, y + dy
            line.append((x, y))
        lines.append(line)
    return lines


def ring_points(ring, lines):
    points = []
    for ref in ring:
        line = lines[ref] if ref >= 0 else lines[~ref][::-1]
        points += line[:-1]
    return points + points[:1]


def unrolled(points, period):
    """The ring with no jump at the 180th meridian, so that its area can be measured."""
    out = [points[0]]
    for x, y in points[1:]:
        turns = round((out[-1][0] - x) / period) if period else 0
        out.append((x + turns * period, y))
    return out


def claims(geometries, lines, period):
    """For each piece of border, which areas lie on which side of it.

    In the source an outer ring runs clockwise and a hole the other way, so the area is on
    the right hand. A tiny ring may have been turned over by the source's own grid, and is
    turned back here. A piece that an area runs along both ways cancels out. A ring that the
    grid squeezed to a line or a point is a speck: it holds no position, but one can be near it.
    """
    sides = defaultdict(lambda: defaultdict(int))
    polar = 0
    specks = []
    for index, geometry in enumerate(geometries, start=1):
        kind = geometry["type"]
        polygons = {"Polygon": [geometry.get("arcs")], "MultiPolygon": geometry.get("arcs")}.get(kind, [])
        for polygon in polygons:
            for number, ring in enumerate(polygon):
                points = ring_points(ring, lines)
                flat = unrolled(points, period)
                area = sum(x * v - u * y for (x, y), (u, v) in zip(flat, flat[1:]))
                if flat[0] != flat[-1]:
                    polar = index  # runs once round the pole: Antarctica
                elif area == 0:
                    specks.append((index, points if len(points) > 1 else points * 2))
                    continue
                elif (area > 0) == (number == 0):
                    points.reverse()
                for a, b in zip(points, points[1:]):
                    if a < b:
                        sides[(a, b)][index] += 1
                    elif b < a:
                        sides[(b, a)][index] -= 1
    border = {}
    for piece, nets in sides.items():
        if period and all(x in (0, period) for x, _ in piece):
            continue  # a cut along the 180th meridian, not a border
        right = [i for i, net in nets.items() if net > 0]
        left = [i for i, net in nets.items() if net < 0]
        if len(right) > 1 or len(left) > 1:
            sys.exit(f"two areas claim one side of {piece}: {right} {left}")
        if right or left:
            border[piece] = (left[0] if left else 0, right[0] if right else 0)
    return border, polar, specks


def chains(lines, border):
    """Runs of pieces with the same two areas, in the order of the source's lines."""
    done = set()
    for line in lines:
        run, pair = [], None
        for a, b in zip(line, line[1:]):
            piece = (a, b) if a < b else (b, a)
            found = border.get(piece)
            if found and piece not in done:
                done.add(piece)
                here = found if a < b else found[::-1]
                if run and here == pair:
                    run.append(b)
                    continue
                if run:
                    yield pair, run
                run, pair = [a, b], here
            elif run:
                yield pair, run
                run = []
        if run:
            yield pair, run


def cut_at_180(pair, run, period):
    """Splits a run where it jumps across the 180th meridian, to end and begin on it."""
    part = [run[0]]
    for (x, y), (u, v) in zip(run, run[1:]):
        if period and abs(u - x) > period // 2:
            edge, start = (period, 0) if x > u else (0, period)
            ahead = u + period if x > u else u - period
            share = (edge - x) / (ahead - x) if ahead != x else 0.0
            at = round(y + (v - y) * share)
            if part[-1] != (edge, at):
                part.append((edge, at))
            if len(part) > 1:
                yield pair, part
            part = [(start, at)]
            if (u, v) == part[0]:
                continue
        part.append((u, v))
    if len(part) > 1:
        yield pair, part


def layer(archive, member, name, sha, source, licence, tolerance):
    with tarfile.open(archive) as tar:
        raw = tar.extractfile(member).read()
    if hashlib.sha256(raw).hexdigest() != sha:
        sys.exit(f"{archive}: {member} is not the version this script was written for")
    data = json.loads(raw)
    geometries = sorted(data["objects"][name]["geometries"], key=lambda g: (g.get("id", "~"), g["properties"]["name"]))
    scale, translate = data["transform"]["scale"], data["transform"]["translate"]
    period = round(360 / scale[0]) if abs(scale[0] * 99999 - 360) < 1e-6 else 0
    lines = absolute(data["arcs"])
    border, polar, specks = claims(geometries, lines, period)
    runs = [part for pair, run in chains(lines, border) for part in cut_at_180(pair, run, period)]

    out = text(source) + text(licence) + varint(tolerance)
    out += struct.pack("<4d", *scale, *translate) + varint(polar)
    out += varint(len(geometries))
    for geometry in geometries:
        label = geometry["properties"]["name"]
        out += text(geometry.get("id", "")) + text(FULL_NAMES.get(label, label))
    body = varint(len(runs))
    for (left, right), run in runs:
        body += varint(left) + varint(right) + path(run)
    body += varint(len(specks))
    for area, points in specks:
        body += varint(area) + path(points)
    points = sum(len(run) for _, run in runs)
    print(f"{name}: {len(geometries)} areas, {len(runs)} lines, {points} points, {len(body)} bytes, {len(specks)} specks")
    return out + body


def main():
    us, world, target = sys.argv[1:]
    out = b"JSAREAS1" + varint(len(LAYERS))
    for archive, spec in zip((us, world), LAYERS):
        out += layer(archive, *spec)
    with open(target, "wb") as file:
        file.write(out)
    print(f"{target}: {len(out)} bytes, sha256 {hashlib.sha256(out).hexdigest()}")


if __name__ == "__main__":
    main()
