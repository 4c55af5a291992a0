"""Files that a script makes: written, or compared with what is committed."""

import io
import re

import numpy
from matplotlib import image

from .table import ROOT

NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def same_picture(one, other):
    """Two PNG pictures of the same size that differ by little: another ngspice may move a line."""
    first, second = (image.imread(io.BytesIO(data)) for data in (one, other))
    return first.shape == second.shape and float(numpy.mean(numpy.abs(first - second))) < 0.02


def same_table(one, other):
    """Two texts that differ by no more than the last digit of their numbers."""
    first, second = one.decode(), other.decode()
    if NUMBER.sub("#", first) != NUMBER.sub("#", second):
        return False
    pairs = zip(NUMBER.findall(first), NUMBER.findall(second), strict=True)
    return all(abs(float(a) - float(b)) <= 1.01 * 10.0 ** -len(a.partition(".")[2])
               for a, b in pairs)


def check(figures, files, write):
    """Writes all files, or compares each with the one in the folder."""
    for path, data in sorted(files.items()):
        name = str(path.relative_to(ROOT))
        if write:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
            print(f"wrote {name}")
            continue
        if not path.exists():
            figures.check(f"made.{name}", False, "missing; run check.py --write")
            continue
        old = path.read_bytes()
        same = old == data or {".png": same_picture, ".csv": same_table, ".md": same_table}.get(
            path.suffix, lambda *_: False)(old, data)
        figures.check(f"made.{name}", same, "" if same else
                      "not what the script makes; run check.py --write and look at it")
