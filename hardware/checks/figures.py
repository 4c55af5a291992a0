"""Collects what the checks found, compares it with what was promised, and prints it."""

import math
from dataclasses import dataclass

from .table import ASSUMPTIONS


@dataclass(frozen=True)
class Figure:
    """One number of a check: name, value in the shown unit, limit and meaning."""

    name: str
    value: float
    unit: str
    digits: int
    limit: str
    passed: bool
    meaning: str

    @property
    def text(self):
        """The value as texts quote it."""
        return f"{self.value:.{self.digits}f} {self.unit}".strip()


class Figures:
    """All figures and plain pass/fail results of one run, in order."""

    def __init__(self):
        self.all = []
        self.checks = []

    def add(self, name, value, unit, meaning, *, least=None, most=None, digits=1):
        """Adds a figure; least and most are the promise that it must keep."""
        value = float(value)
        fine = math.isfinite(value)
        words = []
        if least is not None:
            fine = fine and value >= least
            words.append(f"at least {least:g} {unit}".strip())
        if most is not None:
            fine = fine and value <= most
            words.append(f"at most {most:g} {unit}".strip())
        limit = ", ".join(words) if words else "for information"
        self.all.append(Figure(name, value, unit, digits, limit, fine, meaning))

    def check(self, name, passed, detail=""):
        """Adds a result without a number of its own."""
        self.checks.append((name, bool(passed), detail))

    def show(self, seconds, simulated):
        """Prints everything, the figures last, then the counts; gives the exit code."""
        for name, passed, detail in self.checks:
            print(f"{'ok  ' if passed else 'FAIL'} {name}{': ' + detail if detail else ''}")
        for section, entries in ASSUMPTIONS.items():
            for name, entry in entries.items():
                print(f"assumed: {section}.{name} = {entry['value']:g} {entry['unit']} "
                      f"({entry['from']})")
        for figure in self.all:
            word = "" if figure.passed else "FAIL "
            print(f"figure: hardware {word}{figure.name} = {figure.text} ({figure.limit})")
        for figure in self.all:
            if not figure.passed:
                print(f"FAIL {figure.name} = {figure.text}, promised {figure.limit}: "
                      f"{figure.meaning}")
        results = [passed for _, passed, _ in self.checks] + [f.passed for f in self.all]
        good, bad = results.count(True), results.count(False)
        print(f"hardware: {seconds:.0f} s")
        if not simulated:
            print("SKIPPED: every deck, because ngspice is not installed (Debian package ngspice)")
        print(f"{good} passed, {bad} failed")
        return 1 if bad else 0
