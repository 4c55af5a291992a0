"""Reads an ADIF file by the library adif-io (PyPI): its header and its records as JSON."""

import json
import sys

import adif_io

records, header = adif_io.read_from_file(sys.argv[1])
told = []
for record in records:
    fields = dict(record)
    # The library's own idea of the times, which needs both date and time to be right.
    fields["_on"] = adif_io.time_on(record).isoformat()
    fields["_off"] = adif_io.time_off(record).isoformat()
    if "MY_LAT" in record:
        fields["_my_lat"] = adif_io.degrees_from_location(record["MY_LAT"])
        fields["_my_lon"] = adif_io.degrees_from_location(record["MY_LON"])
    told.append(fields)
json.dump({"header": dict(header or {}), "records": told}, sys.stdout)
