"""Monte Carlo: parts drawn evenly over their tolerance, temperature between its corners."""

import numpy

from .table import BY_REF, assume, number


def generator(name):
    """A random generator of its own for each check, the same in every run."""
    return numpy.random.Generator(numpy.random.PCG64([ord(letter) for letter in name]))


def draw(random, refs, ranges=None):
    """Values for the parts in refs and for the named ranges; the worst are as likely as the rest."""
    drawn = {}
    for ref in sorted(refs):
        row = BY_REF[ref]
        if row.value and row.tolerance is not None:
            part = row.tolerance / 100
            drawn[ref] = number(row.value) * (1 + random.uniform(-part, part))
    for name, (low, high) in (ranges or {}).items():
        drawn[name] = random.uniform(low, high)
    return drawn


def temperature(random):
    """A cold start, a hot cabin, or between, in degrees Celsius."""
    cold, hot = assume("temperature", "cold"), assume("temperature", "hot")
    return [cold, 25.0, hot, random.uniform(cold, hot)][random.integers(4)]
