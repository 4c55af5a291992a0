"""Every figure that a text quotes is one that the checks print."""

import re

from . import car
from .lists import anchor
from .table import ASSUMPTIONS, PARTS, ROOT

UNIT = (r"(?:dBFS|dB|mV|kV|V|mA|µA|nA|A|Ah|mW|kW|W|MΩ|kΩ|Ω|pF|nF|µF|F|mH|H|kHz|MHz|GHz|Hz|ms|µs|ns"
        r"|s|mm²|mm|cm|m|°C|%|J|MiB|GB|baud|bit|turns|times|RMS)")
# A number and its unit, not part of a longer word: 4.7 kΩ, -20 dBFS, 3,000 Hz.
QUANTITY = re.compile(rf"(?<![\w.,-])(-?\d[\d,]*(?:\.\d+)?)\s({UNIT})(?![\w²])")
LINK = re.compile(r"\[([^\]]+)\]\(([^)#\s]*)#([a-z0-9-]+)\)")
MADE = {"figures.md", "shopping-list.md", "pins.md"}


def texts():
    """The pages written by hand."""
    return sorted(path for path in ROOT.rglob("*.md") if path.name not in MADE)


def allowed():
    """Quantities that are stated in a table, and so printed by the checks."""
    found = set()
    sources = [f"{row.label} {row.rating} {row.why}" for row in PARTS]
    sources += [f"{entry['value']:g} {entry['unit']} {entry['from']}"
                for section in ASSUMPTIONS.values() for entry in section.values()]
    sources += [f"{pulse.peak:g} V {pulse.ohms:g} Ω" for pulse in car.PULSES]
    sources += ["300 Hz 3,000 Hz 1 kHz 7 MHz 28 MHz"]
    sources += [f"{row.tolerance:g} %" for row in PARTS if row.tolerance is not None]
    for source in sources:
        found |= {spelled(match) for match in QUANTITY.finditer(source)}
    return found


def spelled(match):
    """A quantity in one spelling."""
    return f"{match.group(1).replace(',', '')} {match.group(2)}"


def close(quoted, figure):
    """Whether the words of a link state a figure, to one unit of its last digit."""
    match = QUANTITY.search(quoted) or re.search(r"(-?\d+(?:\.\d+)?)()", quoted)
    if not match:
        return False
    digits = len(match.group(1).partition(".")[2])
    if match.group(2) != figure.unit:
        return False
    return abs(float(match.group(1).replace(",", "")) - figure.value) <= 1.01 * 10**-digits


def check(figures, complete):
    """Links to figures agree with them; other quantities are stated inputs."""
    known = {anchor(figure.name): figure for figure in figures.all}
    stated = allowed()
    quoted = loose = 0
    for path in texts():
        text = path.read_text(encoding="utf-8")
        name = path.relative_to(ROOT)
        for match in LINK.finditer(text):
            words, target, where = match.groups()
            if not target.endswith("figures.md"):
                continue
            quoted += 1
            figure = known.get(where)
            if figure is None:
                if complete:
                    figures.check(f"text.{name}", False, f"no check prints {where}")
            elif not close(words, figure):
                figures.check(f"text.{name}", False, f"says {words} for {where}, the check "
                              f"prints {figure.text}")
        bare = re.sub(r"```.*?```", "", LINK.sub("", text), flags=re.DOTALL)
        for match in QUANTITY.finditer(bare):
            loose += 1
            if spelled(match) not in stated:
                figures.check(f"text.{name}", False, f"{match.group(0)} is quoted but stands in "
                              "no table and is printed by no check")
        for target in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", text):
            if "://" not in target and not (path.parent / target).exists():
                figures.check(f"text.{name}", False, f"links to {target}, which does not exist")
    figures.check("text.figures", quoted > 0, f"{quoted} quoted figures are what the checks print")
    figures.check("text.inputs", loose > 0, f"{loose} other quantities stand in a table")
