"""Six-character locators by the library maidenhead (PyPI), one for each line "lat lon"."""

import sys

import maidenhead

for line in sys.stdin:
    lat, lon = map(float, line.split())
    print(maidenhead.to_maiden(lat, lon, precision=3))
