"""Schematic of the supply and the hold-up bank."""

from .sheet import Sheet


def draw():
    """Battery on the left, the bank below, the board's 5 V on the right."""
    s = Sheet("supply")
    s.title((0, 12.4), "Supply and hold-up",
            ["F701 within 20 cm of the battery. Q701 opens above 28 V; D703 blocks a reversed battery.",
             "Q703 on its heat sink. The bank holds energy when everything else is off: see safety.md."])
    s.tag("battery", (0, 8), "left", "battery +")
    s.part("F701", (0, 8), (2.2, 8))
    s.wire((2.2, 8), (3, 8))
    s.part("C701", (3, 8), (3, 5.6), side="left")
    s.ground((3, 5.6))
    s.part("D703", (3, 8), (5.4, 8))
    s.wire((5.4, 8), (12.6, 8))
    # What closes Q701: D702 and R703 by way of Q702.
    s.part("R702", (6.4, 8), (6.4, 5.6), side="left")
    s.wire((6.4, 5.6), (6.4, 5))
    s.part("D702", (6.4, 2.6), (6.4, 5), side="left")
    s.part("R703", (6.4, 2.6), (6.4, 0.4), side="left")
    s.ground((6.4, 0.4))
    q = s.transistor("Q702", "pnp", (8, 5.6))
    s.wire((6.4, 5.6), q["b"])
    s.wire(q["e"], (None, 8))
    s.wire(q["c"], (None, 4.4), (10.6, 4.4), (12.4, 4.4))
    s.part("D701", (10.6, 4.4), (10.6, 8), side="left")
    s.part("C704", (12.4, 8), (12.4, 4.4), side="right")
    s.part("R701", (10.6, 4.4), (10.6, 1.6))
    s.ground((10.6, 1.6))
    p = s.switch("Q701", (14.6, 8))
    s.wire((12.6, 8), p["s"])
    s.wire(p["g"], (None, 4.4), (12.4, 4.4))
    s.wire(p["d"], (29, 8))
    s.tag("vh", (17.6, 8), "up")
    s.part("D704", (17.6, 5.6), (17.6, 8), side="left")
    s.ground((17.6, 5.6))
    s.part("C702", (24.4, 8), (24.4, 5.6))
    s.ground((24.4, 5.6))
    s.part("C703", (26.8, 8), (26.8, 5.6))
    s.ground((26.8, 5.6))
    # The bank.
    s.part("R704", (18.4, 5), (18.4, 2.6), side="left")
    s.wire((18.4, 5), (18.4, 8))
    s.part("D705", (18.4, 0.2), (18.4, 2.6), side="left")
    s.ground((18.4, 0.2))
    n = s.transistor("Q703", "npn", (20, 2.6))
    s.wire((18.4, 2.6), n["b"])
    s.wire(n["c"], (None, 8))
    s.wire(n["e"], (None, 0.6))
    x = n["e"][0]
    s.part("R705", (x, 0.6), (x, -1.8))
    s.wire((x, -1.8), (x, -2.4), (22.6, -2.4))
    s.part("D706", (22.6, 2), (22.6, 4.4))
    s.wire((22.6, 4.4), (22.6, 8))
    s.wire((22.6, 2), (22.6, -2.4))
    s.tag("bank", (22.6, 0), "right")
    s.wire((22.6, -2.4), (24.6, -2.4), (26.4, -2.4))
    for index in range(5):
        top, foot = -2.4 - 2 * index, -4.4 - 2 * index
        s.part(f"C70{5 + index}", (24.6, top), (24.6, foot), side="left")
        s.part(f"R{706 + index}", (26.4, top), (26.4, foot))
        s.wire((24.6, foot), (26.4, foot))
    s.ground((24.6, -12.4))
    u = s.box("U701", (29.6, 6.4), (4, 2.6), {"vin": ("left", 1.6), "out": ("right", 1.6),
              "gnd": ("bottom", 1.2), "en": ("bottom", 2.8)}, "U701\nstep-down\nmodule")
    s.ground(u["gnd"])
    s.tag("en", u["en"], "down", "enable (from\nignition circuit)")
    s.tag("v5", u["out"], "right", "5 V to\nthe board")
    return s
