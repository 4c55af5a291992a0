"""Hold-up: the recorder closes its files after the 12 V has gone."""

import tomllib

import numpy

from . import plots, sampling, spice, whole
from .table import ROOT, assume

RUNS = 40
CLOSING = tomllib.loads((ROOT / "closing.toml").read_text(encoding="utf-8"))
CLOSES_IN = CLOSING["seconds"] + CLOSING["syncs"] * assume("closing", "slow_sync")
LOW, LEAST = assume("board", "pin_reads_low"), assume("board", "least")
VECTORS = ["v(v5)", "v(vh)", "v(bank)", "v(low_supply)", "v(ignition)", "v(v33)"]


def loss_deck(parameters, celsius, resting, watts):
    """Battery and accessory line go from their resting voltage to nothing at 0.1 s."""
    bench = whole.BOARD + f"VB battery 0 PWL(0 {resting} 0.1 {resting} 0.101 0)\n"
    bench += f"VA acc 0 PWL(0 {resting} 0.1 {resting} 0.101 0)\n"
    return spice.Deck(whole.ALL, bench, "tran 10m 30", VECTORS,
                      {**parameters, **whole.POWER, "U701_p": watts,
                       "U401_ib": 100e-9, "U401_vos": 0}, celsius)


def first(result, vector, level, *, after=0.05):
    """First time at which a vector is below a level."""
    found = (result[vector] < level) & (result["x"] > after)
    return float(result["x"][numpy.argmax(found)]) if found.any() else float("inf")


def time_left(result):
    """Seconds from loss of the 12 V, from low supply and from ignition off to the end."""
    end = first(result, "v(v5)", LEAST)
    return (end - 0.1, end - first(result, "v(low_supply)", LOW), first_high(result) - 0.1)


def first_high(result):
    """First time at which the ignition pin says off."""
    found = (result["v(ignition)"] > assume("board", "pin_reads_high")) & (result["x"] > 0.05)
    return float(result["x"][numpy.argmax(found)]) if found.any() else float("inf")


def loss(figures):
    """Time left over tolerance, age and temperature, from a tired battery."""
    random = sampling.generator("hold-up")
    watts = assume("board", "power")
    decks = []
    for _ in range(RUNS):
        drawn = whole.aged(sampling.draw(random, whole.REFS))
        decks.append(loss_deck(drawn, sampling.temperature(random), 11.5, watts))
    left = [time_left(result) for result in spice.run(decks)]
    total, warned, seen = (list(group) for group in zip(*left, strict=True))
    need = assume("closing", "margin") * CLOSES_IN
    figures.add("closing.measured", CLOSING["seconds"], "s", "measured close time of the "
                "recorder on a fast disk (closing.toml)", digits=2)
    figures.add("closing.time", CLOSES_IN, "s", "the same on a card that is slow at every sync",
                digits=2)
    figures.add("holdup.needed", need, "s", "the same with margin", digits=2)
    figures.add("holdup.total", min(total), "s",
                f"from loss of the 12 V (battery at 11.5 V, board taking {watts:g} W, old cells) "
                f"to loss of the board's 5 V, least of {RUNS}", least=need)
    figures.add("holdup.ignition", 1e3 * max(seen), "ms",
                "from loss of the accessory line to the ignition pin, most", most=500, digits=0)
    figures.add("holdup.after.ignition", min(a - b for a, b in zip(total, seen, strict=True)),
                "s", "from the ignition pin to loss of the 5 V, least", least=need)
    figures.add("holdup.warned", min(warned), "s",
                "from the low-supply pin to loss of the 5 V, least: what is sure even without "
                "an ignition wire", least=need)
    (heavy,) = spice.run([loss_deck(whole.aged({}), 25, 11.5, 1.5 * watts)])
    figures.add("holdup.heavy", time_left(heavy)[0], "s",
                "the same from loss of the 12 V with a board that takes half as much again, "
                "nominal parts, old cells", least=need)
    (new,) = spice.run([loss_deck({}, 25, 13.8, watts)])
    figures.add("holdup.new", time_left(new)[0], "s",
                "the same with new cells and the engine running before")
    plots.lines("supply", "hold-up",
                [(new["x"], new["v(vh)"], "converter module's input"),
                 (new["x"], new["v(bank)"], "bank"), (new["x"], new["v(v5)"], "board's 5 V"),
                 (new["x"], new["v(low_supply)"], "low-supply pin")],
                "time, s", "volts", "12 V lost at 0.1 s, new cells", x_limits=(0, 16))


def charge(figures):
    """How long the bank takes to fill, and what that costs."""
    bench = whole.BOARD + "VB battery 0 PWL(0 0 0.01 13.8)\nVA acc 0 13.8\n"
    deck = spice.Deck(whole.ALL, bench, "tran 0.1 400 uic",
                      ["v(bank)", "v(vh)", "i(VB)", "v(v5)", "v(em,bank)", "v(vh,em)", "v(k4)"],
                      {**whole.POWER})
    (result,) = spice.run([deck])
    time, bank = result["x"], result["v(bank)"]
    full = float(bank[-1])
    figures.add("bank.voltage", full, "V", "bank when full, engine running", digits=1)
    figures.add("bank.ready", float(time[numpy.argmax(bank > 0.95 * full)]), "s",
                "from the first 12 V to a bank that is 95 % full", most=300, digits=0)
    current = result["v(em,bank)"] / 22
    figures.add("bank.charge.current", float(max(current)), "A", "highest charging current",
                most=1.0, digits=2)
    figures.add("bank.transistor", float(max(current * result["v(vh,em)"])), "W",
                "highest power in Q703 while the bank charges", most=3)
    figures.add("bank.resistor", float(max(current * result["v(em,bank)"])), "W",
                "highest power in R705, falling within a minute", most=15)
    figures.add("supply.current", float(-min(result["i(VB)"][time > 1])), "A",
                "highest current from the 12 V, bank charging", most=2, digits=2)
    random = sampling.generator("cells")
    decks = [spice.Deck(whole.SUPPLY, "VB battery 0 16\nVE en 0 0\n", "op",
                        ["v(bank,k1)", "v(k1,k2)", "v(k2,k3)", "v(k3,k4)", "v(k4)"],
                        sampling.draw(random, whole.REFS, {}), 70) for _ in range(60)]
    highest = max(max(r[v][-1] for v in r if v != "x") for r in spice.run(decks))
    figures.add("bank.cell", highest, "V", "highest voltage of a cell, 16 V in, worst of 60",
                most=2.5, digits=2)


def inrush(figures):
    """Plugging in does not spark."""
    bench = whole.BOARD + "VB battery 0 PWL(0 0 1m 0 1.01m 13.8)\nVA acc 0 0\n"
    deck = spice.Deck(whole.ALL, bench, "tran 20u 60m uic", ["i(VB)", "v(vh)"], {**whole.POWER})
    (result,) = spice.run([deck])
    settled = result["x"] > 1.02e-3
    figures.add("supply.inrush", -min(result["i(VB)"][settled]), "A",
                "highest current in the first 60 ms after plugging in, the first 20 µs apart",
                most=5)


def standby(figures):
    """What the parked car pays."""
    bench = ("VB battery 0 12.6\nVA acc 0 0\nVP power_hold 0 0\nV33 v33 0 0\n"
             f"IS vh 0 {assume('board', 'sleep')}\n")
    (result,) = spice.run([spice.Deck(whole.ALL, bench, "op", ["i(VB)", "v(v5)", "v(en)"],
                                      {**whole.POWER})])
    current = -float(result["i(VB)"][-1])
    figures.add("standby.current", 1e3 * current, "mA",
                "from the battery while parked and halted", most=10)
    figures.add("standby.month", current * 24 * 30, "Ah", "the same in a month", most=7)


def check(figures):
    """All checks of hold-up and bank."""
    loss(figures)
    charge(figures)
    inrush(figures)
    standby(figures)
