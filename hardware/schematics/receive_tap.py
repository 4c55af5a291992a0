"""Schematic of the receive tap."""

from .sheet import INPUT, Sheet

SUPPLY = {"vcc": "va", "vee": "0"}


def draw():
    """From the rig's audio on the left to the converter on the right."""
    s = Sheet("receive-tap")
    s.title((0, 8.2), "Receive audio tap",
            ["J101 closed: speaker jack. Open: fixed-level output.",
             "R101 and R102 sit at the connector. No copper joins left and right of T101.",
             "U201: + supply va on pin 4, ground on pin 11 (usual quad amplifier)."])
    s.tag("in_hot", (0, 4), "left", "audio")
    s.tag("in_gnd", (0, 1), "left", "its ground")
    s.part("R101", (0, 4), (3, 4))
    s.part("R102", (0, 1), (3, 1))
    s.wire((3, 4), (8.5, 4))
    s.wire((3, 1), (8.5, 1))
    s.part("R103", (3.5, 4), (3.5, 1), side="left")
    s.part("R104", (5.2, 4), (5.2, 2.4), side="right")
    s.part("J101", (5.2, 2.4), (5.2, 1), side="right")
    s.part("C101", (7.2, 4), (7.2, 1))
    t = s.transformer("T101", (8.9, 1.7), "T101\n600:600")
    s.wire((8.5, 4), (8.5, t["p1"][1]), t["p1"])
    s.wire((8.5, 1), (8.5, t["p2"][1]), t["p2"])
    s.wire(t["s1"], (10.4, None), (10.4, 4), (13, 4))
    s.wire(t["s2"], (10.4, None), (10.4, 1), (13, 1))
    s.part("C106", (11, 4), (11, 2.4))
    s.ground((11, 2.4))
    s.wire((13, 4), (13, 3.7))
    s.wire((13, 1), (13, 1.3))
    tap = s.trimmer("RV101", (13, 3.7), (13, 1.3))
    s.tag("vref", (10.4, 0.3), "down")
    s.wire((10.4, 0.3), (10.4, 1))
    s.part("R105", (14, tap[1]), (16.5, tap[1]))
    s.wire(tap, (14, tap[1]))
    s.part("C102", (17.2, tap[1]), (17.2, 0.6), side="left")
    s.ground((17.2, 0.6))
    a = s.amplifier("U201A", (20.4, tap[1] + INPUT), hidden=SUPPLY)
    s.wire((16.5, tap[1]), a["inp"])
    s.wire(a["inn"], (17.8, None), (17.8, 5), (18, 5))
    s.part("R107", (18, 5), (20.6, 5))
    s.part("C103", (18, 6.7), (20.6, 6.7))
    s.wire((17.8, 5), (17.8, 6.7), (18, 6.7))
    s.wire((20.6, 6.7), (21, 6.7), (21, a["out"][1]))
    s.wire((20.6, 5), (21, 5))
    s.part("R106", (17.8, 5), (15.4, 5))
    s.tag("vref", (15.4, 5), "left")
    s.wire(a["out"], (21.4, None))
    s.part("C104", (21.4, a["out"][1]), (23.2, a["out"][1]))
    s.part("R108", (23.2, a["out"][1]), (26, a["out"][1]))
    s.wire((26, a["out"][1]), (29, None))
    s.part("C105", (26.4, a["out"][1]), (26.4, 0.6), side="left")
    s.part("R109", (28, a["out"][1]), (28, 0.6))
    s.ground((26.4, 0.6))
    s.ground((28, 0.6))
    s.tag("rx_out", (29, a["out"][1]), "right", "converter,\nleft")
    return s
