"""Samples at another rate by the library soxr (PyPI), best quality. Input: "from to", then one sample a line; output likewise."""

import sys

import numpy
import soxr

rates, *samples = sys.stdin.read().split("\n")
source, target = map(int, rates.split())
there = soxr.resample(numpy.array([float(s) for s in samples if s]), source, target, quality="VHQ")
print("\n".join(f"{x:.7f}" for x in there))
