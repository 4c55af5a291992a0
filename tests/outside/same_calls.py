"""Compares the call signs of a drive's truth with those that adif.py read from its ADIF file."""

import json
import sys

with open(sys.argv[1]) as truth, open(sys.argv[2]) as adif:
    spoken = [contact["call"] for contact in json.load(truth)["contacts"]]
    read = [record["CALL"] for record in json.load(adif)["records"]]
if spoken != read:
    sys.exit(f"the drive had {spoken}, the ADIF file has {read}")
print(f"figure: demo: adif-io reads {len(read)} contacts in the ADIF file: {', '.join(read)}, as spoken")
