"""A sheet of paper: places parts, draws wires, and remembers what joins what."""

import re

import schemdraw
import schemdraw.elements as elm

from checks.table import part_of

schemdraw.use("svg")

TWO_PINS = {
    "resistor": lambda: elm.ResistorIEC(),
    "capacitor": lambda: elm.Capacitor(),
    "electrolytic capacitor": lambda: elm.Capacitor(polar=True),
    "supercapacitor": lambda: elm.Capacitor(polar=True),
    "low-leakage diode": lambda: elm.Diode(),
    "switching diode": lambda: elm.Diode(),
    "rectifier diode": lambda: elm.Diode(),
    "Schottky diode": lambda: elm.Schottky(),
    "zener diode": lambda: elm.Zener(),
    "transient suppressor": lambda: elm.Zener(),
    "shunt reference": lambda: elm.Zener(),
    "LED": lambda: elm.LED(),
    "fuse": lambda: elm.FuseIEC(),
    "blade fuse": lambda: elm.FuseIEC(),
    "jumper": lambda: elm.Switch(),
    "push button": lambda: elm.Button(),
    "sounder": lambda: elm.RBox(),
}
# Names that the netlist gives the two pins, by part; others are 1 and 2.
POLES = {"diode": "ak", "LED": "ak", "suppressor": "ak", "reference": "ak", "fuse": "ab",
         "jumper": "ab", "button": "ab", "sounder": "pn", "supercapacitor": "pn"}
OPAMP = {"inp": "in2", "inn": "in1", "out": "out"}
TEXT = 11
GREY = "#555555"
# Height of an amplifier's inputs above and below its output.
INPUT = 0.625


def key(point):
    """A point as the wires know it."""
    return (round(point[0], 3), round(point[1], 3))


class Sheet:
    """One schematic. Lengths are in drawing units, about 6 mm; y grows upwards."""

    def __init__(self, name):
        self.name = name
        self.drawing = schemdraw.Drawing(show=False, fontsize=TEXT, lw=1.4)
        self.pins = {}
        self.wires = []
        self.names = {}
        self.placed = set()

    def text(self, at, words, *, size=TEXT, colour="black", align="left"):
        """Words at a point."""
        self.drawing.add(elm.Label().theta(0).at(at).label(words, fontsize=size, halign=align,
                                                  valign="center", color=colour))

    def part(self, ref, start, end, *, side=None, words=None):
        """A part of two pins from start to end; its label stands above, or on `side`."""
        row = part_of(ref)
        self.placed.add(ref)
        self.drawing.add(TWO_PINS[row.part]().endpoints(start, end))
        poles = next((pair for word, pair in POLES.items() if word in row.part), "12")
        self.pins[(ref, poles[0])] = key(start)
        self.pins[(ref, poles[1])] = key(end)
        label = words or "\n".join(filter(None, (ref, row.label)))
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        upright = abs(start[0] - end[0]) < abs(start[1] - end[1])
        side = side or ("right" if upright else "above")
        lines = label.count("\n") + 1
        shift = {"right": (0.45, 0), "left": (-0.45, 0), "above": (0, 0.3 + 0.2 * lines),
                 "below": (0, -0.45 - 0.25 * lines)}[side]
        align = {"right": "left", "left": "right"}.get(side, "center")
        self.text((middle[0] + shift[0], middle[1] + shift[1]), label, align=align)

    def amplifier(self, ref, at, *, flip=False, hidden=None, words=None):
        """Amplifier or comparator; `at` is its output. Gives its pins as a dict."""
        element = elm.Opamp().theta(0).anchor("out").at(at)
        element = self.drawing.add(element.flip() if flip else element)
        pins = {name: key(element.absanchors[anchor]) for name, anchor in OPAMP.items()}
        self.placed.add(ref)
        for name, point in pins.items():
            self.pins[(ref, name)] = point
        for name, net in (hidden or {}).items():
            # Supply pins are named in the text, not drawn.
            point = (ref, name)
            self.pins[point] = point
            self.names.setdefault(net, []).append(point)
        self.text((at[0] - 1.45, at[1]), words or ref, size=TEXT, align="center")
        return pins

    def transistor(self, ref, kind, base):
        """NPN or PNP transistor by the point of its base; gives its pins as a dict."""
        element = {"npn": elm.BjtNpn, "pnp": elm.BjtPnp}[kind]()
        element = self.drawing.add(element.theta(0).anchor("base").at(base))
        pins = {short: key(element.absanchors[long]) for short, long in
                (("b", "base"), ("c", "collector"), ("e", "emitter"))}
        return self.keep(ref, pins, (element.absanchors["center"][0] + 0.25, base[1]), "left")

    def switch(self, ref, source):
        """P-channel MOSFET lying in the wire, its gate below; `source` is on the left."""
        element = self.drawing.add(elm.PFet().theta(90).reverse().anchor("source").at(source))
        pins = {short: key(element.absanchors[long]) for short, long in
                (("s", "source"), ("d", "drain"), ("g", "gate"))}
        middle = (pins["s"][0] + pins["d"][0]) / 2
        return self.keep(ref, pins, (middle, source[1] + 0.6), "center")

    def keep(self, ref, pins, at, align):
        """Remembers a part's pins and writes its name."""
        self.placed.add(ref)
        for short, point in pins.items():
            self.pins[(ref, short)] = point
        self.text(at, ref, align=align)
        return pins

    def box(self, ref, corner, size, pins, words):
        """A box with pins: name -> (side, offset); gives their points, 0.6 outside the box."""
        (left, bottom), (width, height) = corner, size
        self.drawing.add(elm.Rect(corner1=(0, 0), corner2=(width, height)).theta(0).at(corner))
        self.placed.add(ref)
        points = {}
        for name, (side, offset) in pins.items():
            edge = {"left": (left, bottom + offset), "right": (left + width, bottom + offset),
                    "top": (left + offset, bottom + height), "bottom": (left + offset, bottom)}[side]
            out = {"left": (-0.6, 0), "right": (0.6, 0), "top": (0, 0.6), "bottom": (0, -0.6)}[side]
            point = key((edge[0] + out[0], edge[1] + out[1]))
            self.drawing.add(elm.Line().endpoints(edge, point))
            points[name] = point
            self.pins[(ref, name)] = point
            inside = {"left": (0.15, 0, "left"), "right": (-0.15, 0, "right"),
                      "top": (0, -0.3, "center"), "bottom": (0, 0.3, "center")}[side]
            self.text((edge[0] + inside[0], edge[1] + inside[1]), name, size=9, colour=GREY,
                      align=inside[2])
        self.text((left + width / 2, bottom + height / 2), words, align="center")
        return points

    def trimmer(self, ref, top, foot, *, side="left"):
        """An upright trimmer with its wiper on the right; gives the wiper's point."""
        element = self.drawing.add(elm.PotentiometerIEC().endpoints(top, foot))
        tap = key(element.absanchors["tap"])
        for name, point in (("top", key(top)), ("foot", key(foot)), ("wiper", tap)):
            self.pins[(ref, name)] = point
        self.placed.add(ref)
        row = part_of(ref)
        middle = (top[1] + foot[1]) / 2
        self.text((top[0] - 0.45, middle), f"{ref}\n{row.label}", align="right")
        return tap

    def transformer(self, ref, at, words):
        """A transformer; `at` is the foot of its primary. Gives its pins."""
        element = self.drawing.add(elm.Transformer(t1=4, t2=4).theta(0).at(at).anchor("p2"))
        pins = {name: key(element.absanchors[name]) for name in ("p1", "p2", "s1", "s2")}
        self.placed.add(ref)
        for name, point in pins.items():
            self.pins[(ref, name)] = point
        self.text((at[0] + 0.5, pins["p1"][1] + 0.6), words, align="center")
        return pins

    def wire(self, *points):
        """A wire through points; None in a point keeps the coordinate of the one before."""
        last = points[0]
        for point in points[1:]:
            point = (last[0] if point[0] is None else point[0],
                     last[1] if point[1] is None else point[1])
            self.drawing.add(elm.Line().endpoints(last, point))
            self.wires.append((key(last), key(point)))
            last = point

    def tag(self, net, at, side="left", words=None):
        """A named end of a wire: a circle and its name, or two words for a person."""
        self.drawing.add(elm.Dot(open=True).theta(0).at(at))
        self.names.setdefault(net, []).append(key(at))
        shift = {"left": (-0.25, 0, "right"), "right": (0.25, 0, "left"),
                 "up": (0, 0.4, "center"),
                 "down": (0, -0.5 - 0.2 * (words or net).count("\n"), "center")}[side]
        self.text((at[0] + shift[0], at[1] + shift[1]), words or net, align=shift[2],
                  colour="#0b5394")

    def ground(self, at, net="0"):
        """The board's ground; the rig's ground has a sign of its own."""
        self.drawing.add((elm.Ground() if net == "0" else elm.GroundChassis()).theta(0).at(at))
        self.names.setdefault(net, []).append(key(at))

    def title(self, at, words, notes=()):
        """Title and notes in the corner."""
        self.text(at, words, size=15)
        for index, note in enumerate(notes):
            self.text((at[0], at[1] - 0.65 - 0.5 * index), note, size=10, colour=GREY)

    def svg(self):
        """The finished drawing; joints of three or more wires get their dots."""
        for point in self.joints():
            self.drawing.add(elm.Dot().at(point))
        return framed(self.drawing.get_imagedata("svg").decode())

    def joints(self):
        """Points where three or more ends meet or an end meets the middle of a wire."""
        ends = [p for p in self.pins.values() if isinstance(p[0], float | int)]
        ends += [end for wire in self.wires for end in wire]
        ends += [p for points in self.names.values() for p in points
                 if isinstance(p[0], float | int)]
        found = set()
        for point in set(ends):
            count = ends.count(point)
            count += 2 * sum(1 for wire in self.wires if inside(point, wire))
            if count >= 3:
                found.add(point)
        return sorted(found)

    def nets(self):
        """Groups of pins that are joined, each with its names: {name or None: pins}."""
        groups = []

        def join(points):
            touching = [group for group in groups if group & points]
            for group in touching:
                groups.remove(group)
                points = points | group
            groups.append(points)

        for wire in self.wires:
            join(set(wire))
        everything = set(self.pins.values()) | {p for points in self.names.values() for p in points}
        for point in everything:
            join({point})
        for point in [p for group in groups for p in group]:
            for wire in self.wires:
                if isinstance(point[0], float | int) and inside(point, wire):
                    join({point, wire[0]})
        for points in self.names.values():
            join(set(points))
        result = []
        for group in groups:
            pins = frozenset(pin for pin, point in self.pins.items() if point in group)
            names = {net for net, points in self.names.items() if set(points) & group}
            if pins:
                result.append((pins, names))
        return result


def framed(svg):
    """Widens the picture, so that no word is cut, and puts it on white."""
    left, top, width, height = (float(word) for word in
                                re.search(r'viewBox="([^"]*)"', svg).group(1).split())
    left, top, width, height = left - 70, top - 12, width + 150, height + 24
    head = (f'<svg xmlns="http://www.w3.org/2000/svg" xml:lang="en" width="{width:.0f}" '
            f'height="{height:.0f}" viewBox="{left:.1f} {top:.1f} {width:.1f} {height:.1f}">\n'
            f'<rect x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" height="{height:.1f}" '
            'fill="white"/>\n')
    body = re.sub(r"^<svg[^>]*>", "", svg)
    # Rounded, so that the last digit of a sum does not change the file.
    body = re.sub(r"-?\d+\.\d{4,}", lambda number: f"{float(number.group()):.2f}", body)
    return (head + body.replace("><", ">\n<") + "\n").encode()


def inside(point, wire):
    """Whether a point lies on a wire, not at its ends."""
    (x1, y1), (x2, y2) = wire
    if point in wire:
        return False
    if x1 == x2:
        return point[0] == x1 and min(y1, y2) < point[1] < max(y1, y2)
    if y1 == y2:
        return point[1] == y1 and min(x1, x2) < point[0] < max(x1, x2)
    return False
