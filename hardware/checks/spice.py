"""Builds decks from the circuit files and runs them in ngspice, many at a time."""

import shutil
import subprocess
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import numpy

from .table import ROOT, values

NGSPICE = shutil.which("ngspice")
MODELS = Path(__file__).resolve().parent / "models.lib"
# Values that a part has without being its "value": the class's, from parts.csv's ratings.
CLASS = {
    "T101_cww": 100e-12, "RV101_pos": 0.5, "RV201_pos": 0.5, "J101": 0, "J201": 1,
    "U201_gbw": 10e6, "U201_en": 20e-9, "U301_ib": 100e-9, "U301_vos": 0, "U401_ib": 100e-9,
    "U401_vos": 0, "U303_ctr": 1, "SW401": 0, "cell_esr": 0.025,
    "U701_p": 5, "U701_eff": 0.8, "U701_uvlo": 6.5,
}


@dataclass(frozen=True)
class Element:
    """One line of a circuit file: name, nodes by pin, and what follows."""

    name: str
    pins: tuple
    nodes: tuple
    rest: str

    def line(self):
        """The element as SPICE writes it."""
        return f"{self.name} {' '.join(self.nodes)} {self.rest}"

    @property
    def ref(self):
        """The name in the parts list: without the X of a subcircuit."""
        return self.name[1:] if self.name.startswith("X") else self.name


def subcircuit_pins():
    """Pin names of every subcircuit in the model library."""
    pins = {}
    for line in MODELS.read_text(encoding="utf-8").splitlines():
        if line.startswith(".subckt"):
            words = line.split()
            pins[words[1]] = tuple(word for word in words[2:] if "=" not in word)
    return pins


PINS = subcircuit_pins()
FIXED_PINS = {"R": ("1", "2"), "C": ("1", "2"), "D": ("a", "k"), "Q": ("c", "b", "e")}


def read_circuit(name):
    """Elements of circuits/NAME/circuit.cir."""
    path = ROOT / "circuits" / name / "circuit.cir"
    elements = []
    for line in path.read_text(encoding="utf-8").splitlines():
        words = line.split()
        if not words or words[0].startswith("*"):
            continue
        if words[0][0] == "X":
            kind = next(word for word in words[1:] if word in PINS)
            pins = PINS[kind]
        else:
            pins = FIXED_PINS[words[0][0]]
        count = len(pins)
        elements.append(
            Element(words[0], pins, tuple(words[1 : 1 + count]), " ".join(words[1 + count :]))
        )
    return elements


@dataclass
class Deck:
    """A circuit with its bench, one analysis and the vectors to bring back."""

    elements: list
    bench: str
    analysis: str
    vectors: list
    parameters: dict = field(default_factory=dict)
    temperature: float = 25
    options: str = ""

    def text(self):
        """The deck as ngspice reads it."""
        merged = {**values(), **CLASS, **self.parameters}
        body = "\n".join(element.line() for element in self.elements) + "\n" + self.bench
        used = {name: value for name, value in merged.items() if f"{{{name}}}" in body}
        lines = ["* deck", f".include {MODELS}", f".temp {self.temperature}",
                 f".options method=gear {self.options}"]
        lines += [f".param {name}={value!r}" for name, value in used.items()]
        return "\n".join(lines) + "\n" + body + "\n.end\n"


class SpiceError(Exception):
    """ngspice did not give a result for a deck."""


def run(decks):
    """Runs all decks, half of them in each of two ngspice processes.

    Each result is a dict of arrays. The key "x" is the sweep (frequency in Hz or
    time in s); complex vectors of an AC analysis come back complex.
    """
    with ThreadPoolExecutor(2) as pool:
        half = (len(decks) + 1) // 2
        parts = list(pool.map(run_batch, (decks[:half], decks[half:])))
    return parts[0] + parts[1]


def run_batch(decks):
    """Runs decks one after another in one ngspice process."""
    if not decks:
        return []
    with tempfile.TemporaryDirectory(prefix="jumpseat-hardware-") as folder:
        home = Path(folder)
        script = ["* all decks", ".control", "set filetype=ascii", "set wr_singlescale"]
        for index, deck in enumerate(decks):
            (home / f"{index}.cir").write_text(deck.text(), encoding="utf-8")
            script += [f"source {home}/{index}.cir", deck.analysis]
            if deck.analysis.startswith("noise"):
                script.append("setplot noise1")
            script += [f"wrdata {home}/{index}.txt {' '.join(deck.vectors)}",
                       "destroy all", "remcirc"]
        script += ["quit", ".endc", ".end", ""]
        (home / "all.cir").write_text("\n".join(script), encoding="utf-8")
        done = subprocess.run([NGSPICE, "-b", str(home / "all.cir")], capture_output=True,
                              text=True, timeout=300, cwd=home, check=False)
        return [read_result(home / f"{index}.txt", deck, done) for index, deck in enumerate(decks)]


def seconds(text):
    """A time as decks write it: 30m is 0.03."""
    return float(text[:-1]) * {"m": 1e-3, "u": 1e-6}[text[-1]] if text[-1] in "mu" else float(text)


def read_result(path, deck, done):
    """One wrdata file as a dict of arrays."""
    if not path.exists():
        tail = "\n".join((done.stdout + done.stderr).splitlines()[-40:])
        raise SpiceError(f"ngspice gave no result for this deck:\n{deck.text()}\n{tail}")
    rows = numpy.array([line.split() for line in path.read_text().splitlines()], dtype=float)
    result = {"x": rows[:, 0]}
    if deck.analysis.startswith("tran") and rows[-1, 0] < 0.999 * seconds(deck.analysis.split()[2]):
        raise SpiceError(f"ngspice gave up at {rows[-1, 0]} s in this deck:\n{deck.text()}")
    is_complex = deck.analysis.startswith("ac")
    for index, vector in enumerate(deck.vectors):
        if is_complex:
            result[vector] = rows[:, 1 + 2 * index] + 1j * rows[:, 2 + 2 * index]
        else:
            result[vector] = rows[:, 1 + index]
    return result
