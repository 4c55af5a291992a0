"""Schematic of the audio supply."""

from .sheet import INPUT, Sheet


def draw():
    """5 V on the left, the amplifiers' supply above, their bias on the right."""
    s = Sheet("audio-supply")
    s.title((0, 7), "Supply and bias of the audio amplifiers",
            ["C252 stands right at pins 4 and 11 of U201."])
    s.tag("v5", (0, 4), "left", "5 V")
    s.part("R251", (0, 4), (2.6, 4))
    s.wire((2.6, 4), (8, 4))
    s.tag("va", (8, 4), "right")
    s.part("C251", (3, 4), (3, 1.4))
    s.ground((3, 1.4))
    s.part("C252", (5, 4), (5, 1.4))
    s.ground((5, 1.4))
    s.part("R252", (7.2, 4), (7.2, 1.8))
    s.part("R253", (7.2, 1.8), (7.2, -0.4))
    s.ground((7.2, -0.4))
    s.wire((7.2, 1.8), (9.2, 1.8))
    s.part("C253", (9.2, 1.8), (9.2, -0.4))
    s.ground((9.2, -0.4))
    d = s.amplifier("U201D", (13.6, 1.8 + INPUT), hidden={"vcc": "va", "vee": "0"})
    s.wire((9.2, 1.8), d["inp"])
    s.wire(d["inn"], (11, None), (11, 4), (14, 4), (14, d["out"][1]), d["out"])
    s.wire((14, d["out"][1]), (15, None))
    s.tag("vref", (15, d["out"][1]), "right")
    return s
