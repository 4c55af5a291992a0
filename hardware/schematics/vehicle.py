"""Wiring diagram of the vehicle: what runs from where to where."""

import schemdraw.elements as elm

from .sheet import GREY, Sheet

COLOURS = {"12": "#990000", "ground": "#222222", "audio": "#0b5394", "line": "#38761d",
           "usb": "#741b47"}


def block(s, corner, size, title, words=()):
    """A box with a title and lines of text."""
    s.drawing.add(elm.Rect(corner1=(0, 0), corner2=size).theta(0).at(corner))
    x, top = corner[0] + 0.25, corner[1] + size[1]
    s.text((x, top - 0.6), title, size=12)
    for index, line in enumerate(words):
        s.text((x, top - 1.15 - 0.5 * index), line, size=9.5, colour=GREY)


def run(s, points, kind, words, at, align="left"):
    """A cable with what it is."""
    last = points[0]
    for point in points[1:]:
        s.drawing.add(elm.Line(color=COLOURS[kind], lw=2.2).endpoints(last, point))
        last = point
    for index, line in enumerate(words):
        s.text((at[0], at[1] - 0.48 * index), line, size=9.5, colour=COLOURS[kind], align=align)


def ferrite(s, at, upright=False):
    """A clip-on ferrite around a cable."""
    width, height = (0.6, 0.9) if upright else (0.9, 0.6)
    s.drawing.add(elm.Rect(corner1=(0, 0), corner2=(width, height), fill="#888888").theta(0)
                  .at((at[0] - width / 2, at[1] - height / 2)))


def draw():
    """Battery and rig on the left, box in the middle, board and its parts on the right."""
    s = Sheet("vehicle")
    s.title((0, 18.6), "Wiring in the vehicle",
            ["Grey blocks are clip-on ferrites, three to five turns where the cable allows.",
             "Every wire through sheet metal goes through a grommet; every cable has strain relief at both ends."])
    block(s, (0, 12.2), (4.6, 3), "Battery", ["F701 within 20 cm", "of the + post"])
    block(s, (0, 8.4), (4.6, 2.2), "Fuse box", ["accessory line,", "live with the ignition"])
    block(s, (0, 0), (4.6, 6.6), "Transceiver", ["audio out or speaker jack", "microphone or monitor line",
          "PTT line", "12 V of its own cable", "chassis", "serial or USB control port"])
    block(s, (13.4, 3.2), (6.6, 12), "Interface box", ["metal, closed", "", "supply, hold-up bank",
          "ignition, low supply", "", "receive tap, transmit tap", "audio supply", "",
          "PTT sense", "mark button", "lamp and sounder", "GPS lines", "",
          "board's ground joins the box", "at one point, at the 12 V inlet"])
    block(s, (27.6, 9.4), (5.4, 5.8), "Linux board", ["pins: see pins.toml", "", "card with the trips",
          "USB: sound adapter,", "GPS, rig control"])
    block(s, (27.6, 4.6), (5.4, 2.6), "Sound adapter", ["stereo line input,", "left receive, right transmit"])
    block(s, (13.4, -2.6), (3, 3.4), "Button", ["SW401, R402,", "R403 inside;", "clear of", "air bags"])
    block(s, (17, -2.6), (3, 3.4), "Lamp,", ["sounder"])
    block(s, (27.6, -2.6), (5.4, 3.4), "GPS receiver", ["active antenna,", "view of the sky,", "away from the",
          "transmitting antenna"])
    run(s, [(4.6, 14.2), (13.4, 14.2)], "12",
        ["F701 3 A, then red and black, 1.5 mm²,", "twisted, both from the battery"], (5, 15.4))
    ferrite(s, (12.4, 14.2))
    run(s, [(4.6, 13.4), (13.4, 13.4)], "ground", [], (0, 0))
    run(s, [(4.6, 9.4), (13.4, 9.4)], "12", ["accessory sense, 0.5 mm²,", "fused in the fuse box"], (5, 10.3))
    run(s, [(4.6, 5.6), (13.4, 5.6)], "audio", ["receive: screened pair, R101 and R102 in the box"], (5, 6.0))
    run(s, [(4.6, 4.6), (13.4, 4.6)], "audio", ["transmit: screened pair, R201 and R202 in the plug"],
        (5, 5.0))
    run(s, [(4.6, 3.6), (13.4, 3.6)], "line", ["PTT: R301 in the plug; rig's 12 V by F301, rig's ground"],
        (5, 4.0))
    run(s, [(20, 14), (27.6, 14)], "12", ["5 V and ground, short and thick"], (20.4, 14.4))
    run(s, [(20, 11.4), (27.6, 11.4)], "line", ["pins: PTT, mark, lamp, sounder,", "ignition and the rest"],
        (20.4, 12.3))
    run(s, [(20, 6), (27.6, 6)], "audio", ["two screened cables, 3.5 mm plug"], (20.4, 6.4))
    run(s, [(30.2, 7.2), (30.2, 9.4)], "usb", ["USB"], (30.7, 8.3))
    ferrite(s, (30.2, 8.3), upright=True)
    run(s, [(14.8, 0.8), (14.8, 3.2)], "line", ["two wires"], (15.0, 2.0))
    run(s, [(18.4, 0.8), (18.4, 3.2)], "line", ["4 wires"], (18.6, 2.0))
    run(s, [(20, 4.0), (23.6, 4.0), (23.6, -1), (27.6, -1)], "line",
        ["serial, pulse, 3.3 V, ground"], (20.2, -1.5))
    run(s, [(2.2, 0), (2.2, -3.8), (34.6, -3.8), (34.6, 10.6), (33, 10.6)], "usb",
        ["rig control: serial or USB, if the rig has it"], (2.6, -3.4))
    ferrite(s, (10, -3.8))
    ferrite(s, (34.6, 6), upright=True)
    return s
