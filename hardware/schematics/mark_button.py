"""Schematic of the mark button."""

from .sheet import INPUT, Sheet

SUPPLY = {"vcc": "v5", "vee": "0"}


def draw():
    """The button's housing on the left, thresholds in the middle, pins on the right."""
    s = Sheet("mark-button")
    s.title((-3.4, 11), "Mark button",
            ["R402, R403 and SW401 sit in the button's housing: two wires come out.",
             "U401: + supply 5 V on pin 3, ground on pin 12 (usual quad comparator); C402 across them.",
             "U401D belongs to the ignition circuit."])
    s.part("SW401", (-1, 2.6), (-1, 0.2), side="left")
    s.part("R402", (-3, 2.6), (-3, 0.2), side="left")
    s.wire((-3, 2.6), (-1, 2.6))
    s.wire((-3, 0.2), (-1, 0.2))
    s.ground((-1, 0.2))
    s.part("R403", (-1, 5), (-1, 2.6), side="left")
    s.wire((-1, 5), (2, 5))
    s.tag("loop_a", (0, 5), "up", "to the button")
    s.part("R401", (2, 7), (2, 5), side="left")
    s.tag("v33", (2, 7), "up", "3.3 V")
    s.part("R404", (2.6, 5), (5.2, 5))
    s.wire((2, 5), (2.6, 5))
    s.wire((5.2, 5), (8, 5))
    s.part("C401", (5.6, 5), (5.6, 3))
    s.ground((5.6, 3))
    # The threshold chain.
    s.tag("v33", (12, 9), "up", "3.3 V")
    s.part("R405", (12, 9), (12, 7), side="left")
    s.part("R406", (12, 7), (12, 3.6), side="left")
    s.part("R407", (12, 3.6), (12, -0.8), side="left")
    s.part("R408", (12, -0.8), (12, -3), side="left")
    s.ground((12, -3))
    s.wire((12, 3.6), (13.4, 3.6))
    s.tag("vpress", (13.4, 3.6), "up")
    b = s.amplifier("U401B", (18.8, 7 - INPUT), hidden=SUPPLY, flip=True)
    a = s.amplifier("U401A", (18.8, 3.6 - INPUT), hidden=SUPPLY)
    c = s.amplifier("U401C", (18.8, -0.8 - INPUT), hidden=SUPPLY)
    s.wire((12, 7), b["inp"])
    s.wire((13.4, 3.6), a["inn"])
    s.wire((12, -0.8), c["inn"])
    s.wire((8, 5), (8, -4.4), (15, -4.4), (15, b["inn"][1]), b["inn"])
    s.wire((15, a["inp"][1]), a["inp"])
    s.wire((15, c["inp"][1]), c["inp"])
    s.part("R409", (19.4, 1.1), (16.4, 1.1), side="below", words="R409  1 MΩ")
    s.wire((16.4, 1.1), (15, 1.1))
    s.wire((19.4, 1.1), (19.4, a["out"][1]), a["out"])
    s.wire((19.4, a["out"][1]), (26, None))
    s.tag("mark", (26, a["out"][1]), "right", "pin: mark\n(low: pressed)")
    s.part("R410", (22.6, 5.4), (22.6, a["out"][1]))
    s.tag("v33", (22.6, 5.4), "up", "3.3 V")
    s.wire(b["out"], (20.8, None), (20.8, c["out"][1]))
    s.wire(c["out"], (26, None))
    s.tag("button_fault", (26, c["out"][1]), "right", "pin: button fault\n(low: broken or shorted)")
    s.part("R411", (22.6, -3.8), (22.6, c["out"][1]), side="left")
    s.tag("v33", (22.6, -3.8), "down", "3.3 V")
    s.part("D401", (24.8, -2.8), (24.8, c["out"][1]), side="right")
    s.part("R412", (24.8, -4.8), (24.8, -2.8))
    s.tag("v33", (24.8, -4.8), "down", "3.3 V")
    s.tag("v5", (27, 9), "up", "5 V")
    s.part("C402", (27, 9), (27, 7))
    s.ground((27, 7))
    return s
