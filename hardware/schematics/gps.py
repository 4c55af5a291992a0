"""Schematic of the GPS receiver's lines."""

from .sheet import Sheet


def draw():
    """Receiver on the left, board on the right."""
    s = Sheet("gps")
    s.title((-4, 7.4), "GPS receiver with pulse", ["The receiver's own serial level must be 3.3 V."])
    s.tag("g_vcc", (0, 5), "left", "receiver: supply")
    s.part("R604", (8, 5), (5.2, 5))
    s.wire((0, 5), (5.2, 5))
    s.tag("v33", (8, 5), "right", "3.3 V")
    s.part("C601", (0.6, 5), (0.6, 3.4))
    s.ground((0.6, 3.4))
    s.part("C602", (2.8, 5), (2.8, 3.4))
    s.ground((2.8, 3.4))
    for row, (ref, left, right, says, pin) in enumerate([
            ("R601", "g_pps", "pps", "receiver: pulse", "pin: pulse"),
            ("R602", "g_tx", "gps_rx", "receiver: sends", "pin: serial in"),
            ("R603", "g_rx", "gps_tx", "receiver: hears", "pin: serial out")]):
        y = 1.4 - 2 * row
        s.tag(left, (0, y), "left", says)
        s.tag(right, (8, y), "right", pin)
        if ref == "R603":
            s.part(ref, (8, y), (0, y))
        else:
            s.part(ref, (0, y), (8, y))
    return s
