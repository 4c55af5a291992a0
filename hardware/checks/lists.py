"""Parts list and netlists agree; the lists that are made from tables are up to date."""

import tomllib

from . import spice
from .table import ASSUMPTIONS, PARTS, ROOT, number

CIRCUITS = ["receive-tap", "transmit-tap", "audio-supply", "ptt-sense", "mark-button",
            "lamp-and-sounder", "gps", "supply", "ignition"]
PINS = tomllib.loads((ROOT / "pins.toml").read_text(encoding="utf-8"))
# The order in which README.md builds them.
ORDER = ["supply", "receive-tap", "audio-supply", "ptt-sense", "mark-button", "lamp-and-sounder",
         "gps", "transmit-tap", "ignition"]
# Whole things that stand in no netlist.
OUTSIDE = {"X601"}


def parts(figures):
    """Each part of a circuit is in its netlist and each element of a netlist is a part."""
    listed = [ref for row in PARTS for ref in row.refs]
    figures.check("parts.once", len(listed) == len(set(listed)), f"{len(listed)} references, "
                  "each listed once")
    figures.check("parts.quantity", all(row.quantity == len(row.refs) or row.circuit == "general"
                                        for row in PARTS), "quantities match the references")
    figures.check("parts.why", all(row.why and row.rating or row.part == "jumper"
                                   for row in PARTS), "every part has a rating and a reason")
    wanted = {ref for row in PARTS for ref in row.refs if row.circuit != "general"} - OUTSIDE
    packages = {"U201", "U401"}
    simulated = set()
    for circuit in CIRCUITS:
        for element in spice.read_circuit(circuit):
            ref = element.ref
            simulated.add(ref[:-1] if ref[:-1] in packages else ref)
    figures.check("parts.netlists", wanted == simulated,
                  f"missing {sorted(wanted - simulated)}, unknown {sorted(simulated - wanted)}"
                  if wanted != simulated else f"{len(simulated)} parts, the same in list and "
                  "netlists")
    nets = {f"{circuit}:{node}" for circuit in CIRCUITS for element in spice.read_circuit(circuit)
            for node in element.nodes}
    lost = [pin["net"] for pin in PINS["pin"] if pin["net"] not in nets]
    headers = [pin["header"] for pin in PINS["pin"]] + [
        place for supply in PINS["supply"] for place in supply["headers"]]
    figures.check("pins.nets", not lost, f"no such net: {lost}" if lost else
                  "every pin is a net of a circuit")
    figures.check("pins.once", len(headers) == len(set(headers)), "no place of the header twice")


def shopping_list():
    """What to buy: equal parts of all circuits on one line."""
    lines = ["# What to buy", "", "Made from parts.csv by `check.py --write`; parts.csv says why "
             "each part is there. By circuit, in the order of work, below."]
    for heading, wanted in (("Parts of the circuits", False), ("Besides", True)):
        rows = [row for row in PARTS if (row.circuit == "general") == wanted]
        lines += ["", f"## {heading}", "", *grouped(rows)]
    lines += ["", "## By circuit", "", "| circuit | parts |", "| --- | --- |"]
    for circuit in ORDER:
        refs = [ref for row in PARTS if row.circuit == circuit for ref in row.refs]
        lines.append(f"| {circuit.replace('-', ' ')} | {' '.join(refs)} |")
    return "\n".join(lines) + "\n"


def grouped(rows):
    """A table of rows, equal parts on one line, by kind and rising value."""
    groups = {}
    for row in rows:
        tolerance = f"{row.tolerance:g} %" if row.tolerance is not None else ""
        size = number(row.value) if row.value else 0
        group = groups.setdefault((row.part, size, row.label, tolerance, row.rating), [0, []])
        group[0] += row.quantity
        group[1] += row.refs
    lines = ["| quantity | part | value | tolerance | rating | used as |",
             "| --- | --- | --- | --- | --- | --- |"]
    for (part, _, label, tolerance, rating), (quantity, refs) in sorted(
            groups.items(), key=lambda item: (item[0][0].lower(), *item[0][1:])):
        lines.append(f"| {quantity} | {part} | {label} | {tolerance} | {rating} | "
                     f"{' '.join(refs)} |")
    return lines


def pin_tables():
    """Pin tables of the common header, and by function for any other board."""
    lines = ["# Pins", "", "Made from pins.toml by `check.py --write`.", "",
             "## Boards with the common 40-pin or 26-pin header", "",
             "Pin 1 is the corner with the square pad; odd pins stand in its row. The line numbers "
             "hold for boards that number their GPIO lines as that header's first maker did; on any "
             "other board the place is the same and `gpioinfo` names the line.", "",
             "| pin | function | line | direction | active | pull | recorder config | what |",
             "| --- | --- | --- | --- | --- | --- | --- | --- |"]
    for pin in sorted(PINS["pin"], key=lambda pin: pin["header"]):
        config = f"`{pin['config']}`" if pin["config"] else "none"
        lines.append(f"| {pin['header']} | {pin['function'].replace('_', ' ')} | {pin['line']} | "
                     f"{pin['direction']} | {pin['active']} | {pin['pull'] or 'none'} | {config} | "
                     f"{pin['what']} |")
    for supply in PINS["supply"]:
        places = ", ".join(str(place) for place in supply["headers"])
        lines.append(f"| {places} | {supply['net']} | | | | | | |")
    lines += ["", "## Any other board", "",
              "Choose free lines that read or drive 3.3 V, whatever their place:", "",
              "| function | needs |", "| --- | --- |"]
    for pin in PINS["pin"]:
        need = {"in": "input", "out": "output"}[pin["direction"]]
        extra = " with edge interrupts" if pin["function"] == "pulse" else ""
        lines.append(f"| {pin['function'].replace('_', ' ')} | {need}{extra}, active {pin['active']}; "
                     f"{pin['what']} |")
    lines += ["", "A board with 1.8 V pins needs level shifters; a board without free pins can run "
              "without lamp and buttons through the recorder's line feed.", "",
              "## Sound adapter", "", "| channel | carries | recorder config |", "| --- | --- | --- |",
              f"| left ({PINS['sound']['rx']}) | what the receiver hears | `sound.rx` |",
              f"| right ({PINS['sound']['tx']}) | what the operator says | `sound.tx` |", ""]
    return "\n".join(lines)


def figure_table(figures):
    """All figures of the last run, for the texts to point at."""
    lines = ["# Figures", "", "Made by `check.py --write`: what the checks print. The texts quote "
             "these, and a check fails if a quoted figure is not the one here.", "",
             "| figure | value | promise | what it is |", "| --- | --- | --- | --- |"]
    for figure in figures.all:
        meaning = figure.meaning.replace("|", "/")
        lines.append(f'| <a id="{anchor(figure.name)}"></a>{figure.name} | {figure.text} | '
                     f"{figure.limit} | {meaning} |")
    lines += ["", "## What the checks assume", "", "| assumption | value | from |",
              "| --- | --- | --- |"]
    for section, entries in ASSUMPTIONS.items():
        for name, entry in entries.items():
            lines.append(f"| {section}.{name} | {entry['value']:g} {entry['unit']} | "
                         f"{entry['from']} |")
    return "\n".join(lines) + "\n"


def anchor(name):
    """A figure's name as the end of a link."""
    return name.replace(".", "-").lower()


def check(figures):
    """Parts, netlists and pins."""
    parts(figures)
