"""Schematic of lamp and sounder."""

from .sheet import Sheet


def draw():
    """Two switches side by side."""
    s = Sheet("lamp-and-sounder")
    s.title((0, 9), "Lamp and sounder", ["Pins high: on. Off while the board starts."])
    s.tag("lamp", (0, 1.5), "left", "pin: lamp")
    s.part("R501", (0, 1.5), (2.4, 1.5))
    s.wire((2.4, 1.5), (4, 1.5))
    s.part("R502", (3, 1.5), (3, -0.5))
    s.ground((3, -0.5))
    q = s.transistor("Q501", "npn", (4, 1.5))
    s.wire(q["e"], (None, -0.5))
    s.ground((q["e"][0], -0.5))
    s.part("D501", (q["c"][0], 4.4), q["c"], side="left")
    s.part("R503", (q["c"][0], 6.6), (q["c"][0], 4.4))
    s.tag("v5", (q["c"][0], 6.6), "up", "5 V")
    s.tag("sounder", (10, 1.5), "left", "pin: sounder")
    s.part("R504", (10, 1.5), (12.4, 1.5))
    s.wire((12.4, 1.5), (14, 1.5))
    s.part("R505", (13, 1.5), (13, -0.5))
    s.ground((13, -0.5))
    q = s.transistor("Q502", "npn", (14, 1.5))
    s.wire(q["e"], (None, -0.5))
    s.ground((q["e"][0], -0.5))
    x = q["c"][0]
    s.part("BZ501", (x, 4.8), (x, 2.6), side="left", words="BZ501\nsounder")
    s.wire((x, 2.6), q["c"])
    s.part("D502", (x + 2, 2.6), (x + 2, 4.8))
    s.wire((x, 2.6), (x + 2, 2.6))
    s.wire((x, 4.8), (x + 2, 4.8))
    s.part("R506", (x, 7), (x, 4.8))
    s.tag("v5", (x, 7), "up", "5 V")
    return s
