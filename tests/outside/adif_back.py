"""Reads ADI files by the library adif-io (PyPI): adif_back.py ADI. Prints the records as JSON."""

import json
import sys

import adif_io

records, _ = adif_io.read_from_file(sys.argv[1], encoding="ascii")
json.dump([dict(record) for record in records], sys.stdout)
