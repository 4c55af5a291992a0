"""What the checks of both audio taps share: levels, leads, flatness, noise."""

import dataclasses
import math

import numpy

from . import spice
from .table import assume

# 5 V from the board, and the converter's input.
BENCH = """
V5 v5 0 5
RCONV {out} 0 10k
"""
# Inductance of the leads of the capacitors that hold RF, and what the layout
# lets leak from the first part to the last; a careful build on strip board.
LEAD = assume("layout", "lead")
STRAY = assume("layout", "stray")
# A resistor is not one at 28 MHz.
ACROSS = assume("layout", "resistor")


def with_leads(elements, refs):
    """Gives the named capacitors leads, which matter at 7 and 28 MHz."""
    changed = []
    for element in elements:
        if element.ref in refs:
            node = f"lead_{element.ref}"
            changed.append(dataclasses.replace(element, nodes=(node, element.nodes[1])))
            changed.append(spice.Element(f"L{element.ref}", ("1", "2"),
                                         (element.nodes[0], node), repr(LEAD)))
        else:
            changed.append(element)
    return changed


def decibels(ratio):
    """20 log10 of a voltage ratio."""
    return 20 * numpy.log10(numpy.abs(ratio))


def dbfs(volts):
    """RMS volts at the converter as the recorder prints them: relative to its peak."""
    return 20 * math.log10(volts / assume("converter", "full_scale"))


def at(result, vector, hertz):
    """Value of a vector at a frequency of the sweep."""
    return result[vector][numpy.argmin(numpy.abs(numpy.log(result["x"] / hertz)))]


def flatness(result, vector):
    """Largest departure from the 1 kHz level, 300 to 3,000 Hz, in dB."""
    band = (result["x"] > 299) & (result["x"] < 3001)
    gain = decibels(result[vector][band])
    return float(numpy.max(numpy.abs(gain - decibels(at(result, vector, 1000)))))


def noise_volts(result):
    """RMS noise at the converter, 300 to 3,000 Hz, from its spectrum in V/√Hz."""
    return math.sqrt(numpy.trapezoid(result["onoise_spectrum"] ** 2, result["x"]))
