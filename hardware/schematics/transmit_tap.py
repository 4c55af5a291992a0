"""Schematic of the transmit tap."""

from .sheet import INPUT, Sheet

SUPPLY = {"vcc": "va", "vee": "0"}


def draw():
    """From the microphone on the left to the converter on the right."""
    s = Sheet("transmit-tap")
    s.title((0, 11), "Transmit audio tap",
            ["R201 and R202 sit inside the plug at the rig; a shielded pair runs from there.",
             "The cable's shield is joined to the board's ground only, not to the rig.",
             "J201 closed: microphone. Open: monitor line. Supply of U201: see the receive tap."])
    s.tag("mic_hot", (0, 5), "left", "microphone")
    s.tag("mic_gnd", (0, 2), "left", "its ground")
    s.part("R201", (0, 5), (2.6, 5))
    s.part("R202", (0, 2), (2.6, 2))
    s.wire((2.6, 5), (6, 5))
    s.wire((2.6, 2), (6, 2))
    s.part("C203", (3, 5), (3, 2), side="left")
    s.part("C204", (4.4, 5), (4.4, 3.7))
    s.ground((4.4, 3.7))
    s.part("C205", (4.4, 2), (4.4, 0.7))
    s.ground((4.4, 0.7))
    s.part("C201", (6, 5), (7.6, 5))
    s.part("C202", (6, 2), (7.6, 2))
    s.part("R203", (7.6, 5), (10, 5))
    s.part("R204", (7.6, 2), (10, 2))
    b = s.amplifier("U201B", (13.4, 3.5 + INPUT), hidden=SUPPLY)
    # The upper input is the inverting one: the two legs cross.
    s.wire((10, 2), (10.6, 2), (10.6, b["inn"][1]), b["inn"])
    s.wire((10, 5), (10.2, 5), (10.2, b["inp"][1]), b["inp"])
    s.wire((10.6, b["inn"][1]), (10.6, 6))
    s.part("R206", (10.6, 6), (13.8, 6))
    s.wire((13.8, 6), (13.8, b["out"][1]), b["out"])
    s.wire((10.2, 5), (10.2, 5.8))
    s.part("R205", (10.2, 5.8), (10.2, 8), side="left")
    s.tag("vref", (10.2, 8), "up")
    s.wire((13.8, b["out"][1]), (14.8, None), (14.8, 3.9))
    tap = s.trimmer("RV201", (14.8, 3.9), (14.8, 1.5))
    s.wire((14.8, 1.5), (14.8, 1.2))
    s.tag("vref", (14.8, 1.2), "down")
    s.part("R207", (16, tap[1]), (18.2, tap[1]))
    s.wire(tap, (16, tap[1]))
    s.part("C206", (18.6, tap[1]), (18.6, 0.8), side="left")
    s.ground((18.6, 0.8))
    c = s.amplifier("U201C", (22, tap[1] + INPUT), hidden=SUPPLY)
    s.wire((18.2, tap[1]), c["inp"])
    s.wire(c["inn"], (19.4, None), (19.4, 5.6), (19.4, 7.2), (19.8, 7.2))
    s.part("R208", (19.8, 5.6), (22, 5.6))
    s.wire((19.4, 5.6), (19.8, 5.6))
    s.part("C207", (19.8, 7.2), (22, 7.2))
    s.wire((22, 7.2), (22.6, 7.2), (22.6, 5.6), (22, 5.6))
    s.wire((22.6, 5.6), (22.6, c["out"][1]), c["out"])
    s.part("R210", (19, 5.6), (16.4, 5.6))
    s.wire((19, 5.6), (19.4, 5.6))
    s.part("R209", (19, 7.2), (16.4, 7.2))
    s.wire((19, 7.2), (19.4, 7.2))
    s.part("J201", (16.4, 7.2), (14.6, 7.2))
    s.wire((16.4, 5.6), (14.2, 5.6), (14.2, 7.2), (14.6, 7.2))
    s.wire((14.2, 7.2), (14.2, 7.6))
    s.tag("vref", (14.2, 7.6), "up")
    out = c["out"][1]
    s.wire((22.6, out), (23, out))
    s.part("C208", (23, out), (24.8, out))
    s.part("R211", (24.8, out), (27.4, out))
    s.wire((27.4, out), (30.4, out))
    s.part("C209", (27.8, out), (27.8, 0.8), side="left")
    s.part("R212", (29.4, out), (29.4, 0.8))
    s.ground((27.8, 0.8))
    s.ground((29.4, 0.8))
    s.tag("tx_out", (30.4, out), "right", "converter,\nright")
    return s
