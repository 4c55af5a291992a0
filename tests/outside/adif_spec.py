"""Holds the ADIF fields, enumerations and data types that we write to the tables of the ADIF
3.1.6 specification: adif_spec.py FIELDS OLD_MODES BANDS ADX...

The tables are those of the specification's own JSON export, carried by the package adif-mcp
(PyPI); nothing else of that package is used. Prints what was compared as JSON."""

import importlib.util
import json
import re
import sys
import xml.etree.ElementTree as ElementTree
from datetime import datetime
from pathlib import Path

fields_file, modes_file, bands_file, *files = sys.argv[1:]
package = Path(importlib.util.find_spec("adif_mcp").origin).parent
folder = package / "resources" / "spec" / "316"
told = json.loads((folder / "all.json").read_text(encoding="utf-8"))["Adif"]
assert told["Version"] == "3.1.6", told["Version"]
fields = told["Fields"]["Records"]
kinds = set(told["DataTypes"]["Records"])
enumerations = {
    name: list(table["Records"].values()) for name, table in told["Enumerations"].items()
}
wrong = []

# Our list of fields, and what text each holds.
holds = {
    "MultilineString": "lines",
    "IntlString": "intl",
    "IntlMultilineString": "intl-lines",
}
theirs = {
    name: holds.get(row["Data Type"], "")
    for name, row in fields.items()
    if "Header Field" not in row
}
ours = {}
for line in Path(fields_file).read_text(encoding="ascii").splitlines():
    name, _, kind = line.partition(" ")
    ours[name] = kind
wrong += [f"field {name}" for name in theirs.keys() ^ ours.keys()]
wrong += [f"kind of {name}" for name in theirs.keys() & ours.keys() if theirs[name] != ours[name]]

# Modes of former times, each a submode of today.
parents = {row["Submode"]: row["Mode"] for row in enumerations["Submode"]}
old = {
    row["Mode"]: parents[row["Mode"]] for row in enumerations["Mode"] if row.get("Import-only")
}
our_old = dict(line.split() for line in Path(modes_file).read_text().splitlines())
wrong += [f"old mode {name}" for name in old.items() ^ our_old.items()]

# Bands: our names, and their edges within those of the specification.
bands = {
    row["Band"]: (float(row["Lower Freq (MHz)"]), float(row["Upper Freq (MHz)"]))
    for row in enumerations["Band"]
}
# The enumeration begins where most of Region 2 does; Article 5 of the ITU Radio Regulations gives
# amateurs of Region 2 the band from 220 MHz (from memory).
explained = {"1.25m": (220.0, 225.0)}
names = 0
name = None
for line in Path(bands_file).read_text(encoding="utf-8").splitlines():
    if found := re.match(r'name = "(.*)"', line):
        name = found[1]
        names += 1
        if name not in bands:
            wrong.append(f"band {name}")
    for low, high in re.findall(r"hz = \[\s*([\d_]+),\s*([\d_]+)\s*\]", line):
        low, high = int(low.replace("_", "")) / 1e6, int(high.replace("_", "")) / 1e6
        if explained.get(name) == (low, high):
            continue
        if name in bands and not bands[name][0] <= low <= high <= bands[name][1]:
            wrong.append(f"edges of {name}: {low} to {high}, not within {bands[name]}")


def in_range(row, value):
    low, high = row.get("Minimum Value"), row.get("Maximum Value")
    return (low in (None, "") or float(value) >= float(low)) and (
        high in (None, "") or float(value) <= float(high)
    )


def is_date(text):
    return bool(re.fullmatch(r"\d{8}", text)) and datetime.strptime(text, "%Y%m%d").year >= 1930


def is_location(text):
    found = re.fullmatch(r"[NSEW](\d{3}) (\d\d\.\d{3})", text)
    return bool(found) and int(found[1]) <= 180 and float(found[2]) < 60


ASCII = r"[ -~]+"
data_types = {
    "Date": is_date,
    "Time": lambda text: bool(re.fullmatch(r"([01]\d|2[0-3])[0-5]\d([0-5]\d)?", text)),
    "Number": lambda text: bool(re.fullmatch(r"-?(\d+\.?\d*|\.\d+)", text)),
    "Integer": lambda text: bool(re.fullmatch(r"-?\d+", text)),
    "PositiveInteger": lambda text: text.isdigit() and int(text) > 0,
    "Boolean": lambda text: text in "YyNn",
    "String": lambda text: bool(re.fullmatch(ASCII, text)),
    "MultilineString": lambda text: all(re.fullmatch("[ -~]*", line) for line in text.splitlines()),
    "IntlString": lambda text: "\n" not in text,
    "IntlMultilineString": lambda text: True,
    "Location": is_location,
    "GridSquare": lambda text: bool(
        re.fullmatch(r"[A-R]{2}(\d{2}([A-X]{2}(\d{2})?)?)?", text, re.IGNORECASE)
    ),
    "GridSquareExt": lambda text: bool(re.fullmatch(r"[A-X]{2}(\d{2})?", text, re.IGNORECASE)),
}


def allowed(name, record):
    """The words of an enumeration that a field may have; None where there is no list."""
    match name:
        case "BAND" | "BAND_RX":
            return {band.upper() for band in bands}
        case "MODE":
            return {row["Mode"] for row in enumerations["Mode"] if not row.get("Import-only")}
        case "SUBMODE":
            return {sub for sub, mode in parents.items() if mode == record.get("MODE")}
        case "MY_DXCC" | "DXCC":
            rows = enumerations["DXCC_Entity_Code"]
            return {row["Entity Code"] for row in rows if row.get("Deleted") != "true"}
        case "MY_COUNTRY":
            rows = enumerations["DXCC_Entity_Code"]
            return {row["Entity Name"] for row in rows if row["Entity Code"] == record.get("MY_DXCC")}
        case "MY_STATE":
            rows = enumerations["Primary_Administrative_Subdivision"]
            dxcc = record.get("MY_DXCC")
            return {row["Code"].upper() for row in rows if row["DXCC Entity Code"] == dxcc}
        case "QSL_SENT" | "QSL_RCVD":
            column = "Status"
            table = {"QSL_SENT": "QSL_Sent", "QSL_RCVD": "QSL_Rcvd"}[name]
            return {row[column] for row in enumerations[table]}
    return None


written, used, types, listed = 0, set(), set(), 0
for file in files:
    root = ElementTree.parse(file).getroot()
    for element in root.find("./HEADER"):
        if element.tag != "USERDEF" and fields.get(element.tag, {}).get("Header Field") != "true":
            wrong.append(f"header field {element.tag}")
    for element in root.findall("./RECORDS/RECORD"):
        record = {field.tag: field.text for field in element}
        for field in element:
            name, text = field.tag, field.text
            if name in ("APP", "USERDEF"):
                continue
            row = fields.get(name)
            if row is None:
                wrong.append(f"no field {name}")
                continue
            written += 1
            used.add(name)
            kind = row["Data Type"]
            types.add(kind)
            # An enumeration may be one of a list, or of a table of its own.
            words = allowed(name, record)
            if kind == "Enumeration" or words is not None:
                if words is None:
                    if name != "MY_CNTY" or not re.fullmatch(r"[A-Z]{2},.+", text):
                        wrong.append(f"{name} '{text}': no list to hold it to")
                else:
                    listed += 1
                    if text.upper() not in words:
                        wrong.append(f"{name} '{text}' is not in its enumeration")
            if kind in data_types and not data_types[kind](text):
                wrong.append(f"{name} '{text}' is no {kind}")
            elif kind not in data_types and kind != "Enumeration":
                wrong.append(f"{name}: no check of {kind}")
            if kind in ("Number", "Integer", "PositiveInteger") and not in_range(row, text):
                wrong.append(f"{name} '{text}' is out of range")
            assert kind.split(",")[0] in kinds, kind
        if ("SUBMODE" in record) and "MODE" not in record:
            wrong.append("SUBMODE without MODE")

json.dump(
    {
        "wrong": wrong,
        "fields": len(ours),
        "old_modes": len(our_old),
        "bands": names,
        "values": written,
        "used": sorted(used),
        "types": sorted(types),
        "listed": listed,
    },
    sys.stdout,
)
