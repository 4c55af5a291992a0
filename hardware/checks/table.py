"""Reads the parts list and the assumptions: the only places that hold values."""

import csv
import tomllib
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
MULTIPLIERS = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6}


def number(text):
    """4.7k -> 4700.0; the suffix is one of p n u m k M or none."""
    if text and text[-1] in MULTIPLIERS:
        return float(text[:-1]) * MULTIPLIERS[text[-1]]
    return float(text)


@dataclass(frozen=True)
class Row:
    """One line of parts.csv: some equal parts of one circuit."""

    refs: tuple
    circuit: str
    part: str
    value: str
    unit: str
    tolerance: float | None
    rating: str
    quantity: int
    why: str

    @property
    def label(self):
        """Value as a person writes it: 4.7 kΩ, 100 nF, 33 V; empty if the part has none."""
        if not self.value:
            return ""
        suffix = self.value[-1] if self.value[-1] in MULTIPLIERS else ""
        digits = self.value[: len(self.value) - len(suffix)]
        return f"{digits} {suffix.replace('u', 'µ')}{self.unit}"


def read_parts(path=ROOT / "parts.csv"):
    """All rows of the parts list, in order."""
    with open(path, encoding="utf-8", newline="") as file:
        return [
            Row(
                refs=tuple(line["refs"].split()),
                circuit=line["circuit"],
                part=line["part"],
                value=line["value"],
                unit=line["unit"],
                tolerance=float(line["tolerance_pct"]) if line["tolerance_pct"] else None,
                rating=line["rating"],
                quantity=int(line["quantity"]),
                why=line["why"],
            )
            for line in csv.DictReader(file)
        ]


PARTS = read_parts()
BY_REF = {ref: row for row in PARTS for ref in row.refs}


def part_of(name):
    """Row of an element name: unit letters of a package (U201A) are dropped."""
    return BY_REF.get(name) or BY_REF.get(name.rstrip("ABCD"))


def values():
    """Nominal value of every part that has one, by reference, in base units."""
    return {ref: number(row.value) for ref, row in BY_REF.items() if row.value}


UNITS = {"V": 1, "mV": 1e-3, "kΩ": 1e3, "Ω": 1, "mA": 1e-3, "W": 1, "°C": 1, "%": 0.01,
         "dBFS": 1, "dB": 1, "nH": 1e-9, "pF": 1e-12, "times": 1, "s": 1, "ms": 1e-3, "Hz": 1, "A": 1}
ASSUMPTIONS = tomllib.loads((ROOT / "assumptions.toml").read_text(encoding="utf-8"))


def assume(section, name):
    """An assumption's value in base units (volts, ohms, amperes, fractions)."""
    entry = ASSUMPTIONS[section][name]
    return entry["value"] * UNITS[entry["unit"]]
