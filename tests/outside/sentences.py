"""Reads NMEA sentences by the library pynmea2 (PyPI); one JSON object for each RMC and GGA."""

import json
import sys

import pynmea2

for line in sys.stdin:
    sentence = pynmea2.parse(line.strip(), check=True)
    kind = sentence.sentence_type
    if kind == "RMC":
        told = {
            "kind": kind,
            "utc": None,
            "valid": sentence.status == "A",
            "lat": None,
            "lon": None,
            "speed_mps": None,
        }
        if sentence.datestamp and sentence.timestamp:
            told["utc"] = f"{sentence.datestamp}T{sentence.timestamp.strftime('%H:%M:%S')}Z"
        if sentence.lat and sentence.lon:
            told["lat"], told["lon"] = sentence.latitude, sentence.longitude
        if sentence.spd_over_grnd is not None:
            told["speed_mps"] = sentence.spd_over_grnd * 1852 / 3600
        print(json.dumps(told))
    elif kind == "GGA":
        altitude = sentence.altitude
        print(json.dumps({"kind": kind, "quality": sentence.gps_qual, "alt_m": altitude}))
