"""Ignition sense, low supply and the module's enable."""

import numpy

from . import car, plots, sampling, spice
from .table import assume

RUNS = 60
CHAIN = [e for e in spice.read_circuit("mark-button") if e.ref in {"R405", "R406", "R407", "R408"}]
ELEMENTS = spice.read_circuit("ignition") + CHAIN
REFS = {e.ref for e in ELEMENTS if e.ref in spice.values()}
RANGES = {"U401_ib": (0, 250e-9), "U401_vos": (-9e-3, 9e-3), "v33": (3.2, 3.4)}
VECTORS = ["v(ignition)", "v(low_supply)", "v(en)", "v(acc)", "v(vh)", "v(b)"]
LOW, HIGH = assume("board", "pin_reads_low"), assume("board", "pin_reads_high")


def rails(v33=3.3, hold=3.3):
    """The board's rails and the pin that holds the module on."""
    return f"V33 v33 0 {v33}\nV5 v5 0 5\nVPH power_hold 0 {hold}\nRM en 0 1meg\n"


def edges(result, vector, against, level=1.4):
    """Values of another vector where one crosses a level, in order."""
    above = result[vector] > level
    return [float(result[against][i + 1]) for i in numpy.flatnonzero(above[1:] != above[:-1])]


def thresholds(figures):
    """Slow ramps of the accessory line and of the held-up supply."""
    random = sampling.generator("ignition")
    decks = []
    for _ in range(RUNS):
        drawn = sampling.draw(random, REFS, RANGES)
        bench = rails(drawn["v33"]) + "VA acc 0 PWL(0 12 0.5 12 10.5 0 11 0 21 12)\n"
        bench += "VHH vh 0 PWL(0 12 0.5 12 10.5 4 11 4 21 12)\n"
        decks.append(spice.Deck(ELEMENTS, bench, "tran 20m 21", VECTORS, drawn,
                                sampling.temperature(random)))
    off, on, low, back = [], [], [], []
    for result in spice.run(decks):
        falling, rising = edges(result, "v(ignition)", "v(acc)")
        off.append(falling)
        on.append(rising)
        falling, rising = edges(result, "v(low_supply)", "v(vh)")
        low.append(falling)
        back.append(rising)
    figures.add("ignition.on", max(on), "V",
                f"accessory line above this says on, most of {RUNS}", most=6, digits=1)
    figures.add("ignition.off", min(off), "V",
                f"below this says off, least of {RUNS}", least=1.5, digits=1)
    figures.add("lowsupply.falls.least", min(low), "V",
                f"held-up supply at which the low-supply pin falls, least of {RUNS}", least=8,
                digits=2)
    figures.add("lowsupply.falls.most", max(low), "V", "the same, most", most=9.2, digits=2)
    figures.add("lowsupply.back", max(back), "V",
                "held-up supply at which it rises again, most", most=9.8, digits=2)


def dip(figures):
    """The start of cranking does not look like ignition off, at any level."""
    longest = 0
    for level, (lowest, plateau, length) in car.CRANKING.items():
        profile = car.cranking(lowest, plateau, length, 0.3)
        bench = rails() + f"VA acc 0 {profile}\nVHH vh 0 12\n"
        (result,) = spice.run([spice.Deck(ELEMENTS, bench, f"tran 2m {length + 0.8:.1f}",
                                          VECTORS)])
        after = result["x"] > 0.25
        if result["v(ignition)"][after].max() > LOW:
            longest += 1
            figures.check(f"ignition.cranking.{level}", False, "ignition seemed off")
    figures.add("ignition.cranking", longest, "", "starting profiles (ISO 16750-2, four levels, "
                "values from memory) that look like ignition off", most=0, digits=0)


def spikes(figures):
    """Pulses on the accessory line do not reach the board's pin or the module."""
    worst_pin, worst_enable, lowest_base = 0, 0, 0
    decks = []
    for pulse in car.PULSES:
        start = max(20 * pulse.rise, 1e-6)
        stop = start + 2 * pulse.length + 20 * pulse.rise
        bench = rails() + f"VM mid 0 {car.RESTING}\nVP pb mid {pulse.waveform(start)}\n"
        bench += f"RP pb acc {pulse.ohms}\nVHH vh 0 12\nCEN en 0 20p\nCB b 0 5p\n"
        decks.append(spice.Deck(ELEMENTS, bench, f"tran {pulse.length / 200:.3e} {stop:.6e}",
                                VECTORS))
    for result in spice.run(decks):
        worst_pin = max(worst_pin, result["v(ignition)"].max())
        worst_enable = max(worst_enable, result["v(en)"].max())
        lowest_base = min(lowest_base, result["v(b)"].min())
    figures.add("ignition.pulse.pin", worst_pin, "V",
                "highest at the ignition pin in any pulse on the accessory line", most=3.6)
    figures.add("ignition.pulse.enable", worst_enable, "V",
                "highest at the module's enable input in any pulse", most=6)
    figures.add("ignition.pulse.base", lowest_base, "V",
                "lowest at the base of Q801 in any pulse", least=-5)


def enable(figures):
    """Either of ignition and power hold keeps the module on; neither turns it off."""
    random = sampling.generator("enable")
    cases = {"ignition on": ("VA acc 0 9\n", 0), "held by the board": ("VA acc 0 0\n", 3.3),
             "neither": ("VA acc 0 0.5\n", 0)}
    volts = {}
    for name, (acc, hold) in cases.items():
        decks = [spice.Deck(ELEMENTS, rails(hold=hold) + acc + "VHH vh 0 12\n", "op", ["v(en)"],
                            sampling.draw(random, REFS), sampling.temperature(random))
                 for _ in range(RUNS)]
        volts[name] = [r["v(en)"][-1] for r in spice.run(decks)]
    figures.add("enable.ignition", min(volts["ignition on"]), "V",
                "enable input with 9 V on the accessory line, board still off, least",
                least=assume("board", "enable_on"), digits=2)
    figures.add("enable.held", min(volts["held by the board"]), "V",
                "enable input with the ignition off and the board holding, least",
                least=assume("board", "enable_on"), digits=2)
    figures.add("enable.neither", max(volts["neither"]), "V",
                "enable input with neither, most", most=assume("board", "enable_off"), digits=2)


def draw():
    """Plot of the accessory line going away and coming back."""
    bench = rails() + "VA acc 0 PWL(0 12.5 0.2 12.5 0.201 0 0.8 0 0.801 12.5)\nVHH vh 0 12\n"
    (result,) = spice.run([spice.Deck(ELEMENTS, bench, "tran 1m 1.2", VECTORS)])
    plots.lines("ignition", "off-and-on",
                [(result["x"], result["v(acc)"], "accessory line"),
                 (result["x"], result["v(ignition)"], "pin, ignition (low is on)"),
                 (result["x"], result["v(en)"], "module's enable, held by the board")],
                "time, s", "volts", "Ignition off at 0.2 s, on again at 0.8 s")


def check(figures):
    """All checks of the ignition circuit."""
    thresholds(figures)
    dip(figures)
    spikes(figures)
    enable(figures)
    draw()
