"""Every single fault of a circuit: each part shorted, each open, pin by pin."""

import dataclasses
import itertools

from .spice import Element

SHORT_OHMS = 0.01
OPEN_OHMS = 1e11


def single(elements):
    """Yields (description, elements) for every fault.

    A part of two pins is shorted or open. A part of more pins has each pair of
    pins shorted and each pin open in turn.
    """
    for index, element in enumerate(elements):
        for one, other in itertools.combinations(range(len(element.nodes)), 2):
            if element.nodes[one] == element.nodes[other]:
                continue
            bridge = Element(f"R{element.ref}short", ("1", "2"),
                             (element.nodes[one], element.nodes[other]), repr(SHORT_OHMS))
            yield f"{element.ref} {describe(element, one, other)}shorted", [*elements, bridge]
        pins = range(len(element.nodes)) if len(element.nodes) > 2 else range(1)
        for pin in pins:
            loose = f"loose_{element.ref}"
            nodes = list(element.nodes)
            nodes[pin] = loose
            gap = Element(f"R{element.ref}open", ("1", "2"), (element.nodes[pin], loose),
                          repr(OPEN_OHMS))
            changed = list(elements)
            changed[index] = dataclasses.replace(element, nodes=tuple(nodes))
            word = f"pin {element.pins[pin]} " if len(element.nodes) > 2 else ""
            yield f"{element.ref} {word}open", [*changed, gap]


def describe(element, one, other):
    """Names the two pins when the part has more than two."""
    if len(element.nodes) == 2:
        return ""
    return f"pins {element.pins[one]} and {element.pins[other]} "


def double(elements):
    """Yields every pair of single faults of different parts."""
    for first, changed in single(elements):
        broken = first.split()[0]
        start = next(i for i, e in enumerate(elements) if e.ref == broken)
        for second, both in single(changed):
            name = second.split()[0]
            place = next((i for i, e in enumerate(elements) if e.ref == name), None)
            if place is not None and place > start:
                yield f"{first} and {second}", both
