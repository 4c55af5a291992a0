"""PTT sense: thresholds and delay, and that no fault can key the transmitter."""

import math

import numpy

from . import car, faults, plots, sampling, spice
from .table import assume, values

RUNS = 200
ELEMENTS = spice.read_circuit("ptt-sense")
REFS = {e.ref for e in ELEMENTS if e.ref in spice.values()}
RANGES = {"U301_ib": (0, 250e-9), "U301_vos": (-9e-3, 9e-3), "U303_ctr": (0.5, 3.0),
          "supply": (9.0, 16.0)}
BOARD = "V33 v33 0 {v33}\nRGROUND rgnd 0 {ground}\n"
LEAK_AT_25 = 5e-9


def leak(celsius):
    """Leakage of D301: its rating at 25 °C, doubling every 10 °C (from memory)."""
    return LEAK_AT_25 * 2 ** ((celsius - 25) / 10)


def sweep_deck(line, stop, step, parameters, celsius, supply):
    """The sense circuit on a stiff line that follows the given waveform."""
    bench = BOARD.format(v33=3.3, ground=0.1)
    bench += f"VSUP rig12 rgnd {supply}\nVLINE line rgnd {line}\nILEAK vr cin {leak(celsius)!r}\n"
    return spice.Deck(ELEMENTS, bench, f"tran {step} {stop} 0 {step}", ["v(ptt)", "v(line,rgnd)"],
                      parameters, celsius)


def crossings(result, level=1.4):
    """Times at which the pin crosses a level, with the direction (-1 falls, 1 rises)."""
    time, pin = result["x"], result["v(ptt)"]
    above = pin > level
    return [(time[i + 1], 1 if above[i + 1] else -1)
            for i in numpy.flatnonzero(above[1:] != above[:-1])]


def thresholds(figures):
    """Ramps the line down and up; where the pin says keyed and released."""
    ramp = "PWL(0 3.4 20m 3.4 0.42 0.2 0.46 0.2 0.86 3.4)"
    random = sampling.generator("ptt thresholds")
    decks = []
    for _ in range(RUNS):
        drawn = sampling.draw(random, REFS, RANGES)
        decks.append(sweep_deck(ramp, "0.9", "1m", drawn, sampling.temperature(random),
                                drawn["supply"]))
    down, up = [], []
    for result in spice.run(decks):
        edges = crossings(result)
        if [direction for _, direction in edges] != [-1, 1]:
            figures.check("ptt.edges", False, f"a slow ramp gave {len(edges)} edges, not 2")
            return
        line = [float(numpy.interp(t, result["x"], result["v(line,rgnd)"])) for t, _ in edges]
        down.append(line[0])
        up.append(line[1])
    figures.check("ptt.edges", True, f"{RUNS} slow ramps down and up gave one edge each way")
    figures.add("ptt.keyed.below", min(down), "V",
                f"the pin says keyed once the line is below this, worst of {RUNS} over tolerance, "
                "temperature and a rig supply of 9 to 16 V",
                least=assume("ptt", "keyed_at_most"), digits=2)
    figures.add("ptt.released.above", max(up), "V",
                f"the pin says released once the line is above this, worst of {RUNS}",
                most=0.9 * assume("ptt", "idle_low"), digits=2)
    figures.add("ptt.hysteresis", min(u - d for u, d in zip(up, down, strict=True)), "V",
                "least distance of the two", least=0.1, digits=2)
    plots.histogram("ptt-sense", "thresholds", [(down, "keyed below"), (up, "released above")],
                    "PTT line, V", "PTT thresholds over tolerance and temperature",
                    [(assume("ptt", "keyed_at_most"), "held down: at most"),
                     (assume("ptt", "idle_low"), "idle: at least")])


def delay(figures):
    """How late the pin follows the line."""
    random = sampling.generator("ptt delay")
    decks = []
    for idle in (assume("ptt", "idle_low"), assume("ptt", "idle_high")):
        step = f"PWL(0 {idle} 10m {idle} 10.001m 0.4 20m 0.4 20.001m {idle})"
        for _ in range(30):
            drawn = sampling.draw(random, REFS, RANGES)
            decks.append(sweep_deck(step, "30m", "20u", drawn, sampling.temperature(random),
                                    drawn["supply"]))
    falls, rises = [], []
    for result in spice.run(decks):
        (fall, _), (rise, _) = crossings(result)
        falls.append((fall - 10e-3) * 1e3)
        rises.append((rise - 20e-3) * 1e3)
    figures.add("ptt.delay", max(falls + rises), "ms",
                "from the line's edge to the pin's, either way, worst of 60", most=1.0, digits=2)
    figures.add("ptt.input.current", 1e6 * assume("ptt", "idle_low") / 940e3, "µA",
                "what the line would have to give at 3 V if everything behind R302 were shorted "
                "to ground", digits=1)


def spikes(figures):
    """Pulses of the car on the rig's 12 V, and a relay coil's kick on the line."""
    decks = []
    for pulse in car.PULSES:
        start = max(20 * pulse.rise, 1e-6)
        stop = start + 2 * pulse.length + 20 * pulse.rise
        bench = BOARD.format(v33=3.3, ground=0.1) + f"VM mid rgnd {car.RESTING}\n"
        bench += f"VP pb mid {pulse.waveform(start)}\nRP pb rig12 {pulse.ohms}\n"
        bench += "VL up rgnd 5\nRL up line 10k\n"
        decks.append(spice.Deck(ELEMENTS, bench, f"tran {pulse.length / 200:.3e} {stop:.6e}",
                                ["v(vr,rgnd)", "v(fused,vf)", "v(cin,rgnd)"]))
    kick = BOARD.format(v33=3.3, ground=0.1) + "VSUP rig12 rgnd 13.8\n"
    kick += "VLINE line rgnd PWL(0 0.2 1m 0.2 1.01m 100 4m 13.8)\n"
    decks.append(spice.Deck(ELEMENTS, kick, "tran 5u 6m", ["v(cin,rgnd)", "v(vr,rgnd)"]))
    *results, coil = spice.run(decks)
    figures.add("ptt.pulse.supply", max(r["v(vr,rgnd)"].max() for r in results), "V",
                "highest supply of the comparator in any pulse of the car on the rig's 12 V",
                most=36)
    ohms = values()["R303"]
    figures.add("ptt.pulse.R303", max(numpy.trapezoid(r["v(fused,vf)"] ** 2 / ohms, r["x"])
                                      for r in results), "J",
                "highest energy in R303 in any pulse", most=8)
    figures.add("ptt.coil", max(coil["v(cin,rgnd)"]), "V",
                "highest at the comparator's input when a relay coil kicks the line to 100 V",
                most=36)


def plug(figures):
    """What a meter shows between PTT pin and ground of the finished plug, all else off."""
    weak = {ref: 0.99 * values()[ref] for ref in ("R301", "R302")}
    decks = []
    for volts in (0.3, 3.0, -0.3, -3.0):
        bench = f"V33 v33 0 0\nRG rgnd 0 1e9\nRS rig12 rgnd 1e11\nVM line rgnd {volts}\n"
        decks.append(spice.Deck(ELEMENTS, bench, "op", ["v(line,rgnd)", "i(VM)"], weak))
    ohms = min(abs(r["v(line,rgnd)"][-1] / r["i(VM)"][-1]) for r in spice.run(decks))
    figures.add("ptt.plug", ohms / 1e3, "kΩ", "least resistance between PTT pin and ground of the "
                "plug, by a meter of 0.3 V to 3 V, either polarity, nothing else connected",
                least=assume("advice", "plug") / 1e3, digits=0)


RIGS = [("idle_low", "weakest_pull_up"), ("idle_high", "weakest_pull_up")]
SUPPLIES = {"13.8 V": "VSUP rig12 rgnd 13.8", "off": "VSUP rig12 rgnd 0",
            "unplugged": "RSUP rig12 rgnd 1e11", "reversed": "VSUP rig12 rgnd -13.8"}
BOARDS = {"on": 3.3, "off": 0}
GROUNDS = {"joined": 0.1, "broken": 1e11}


def fault_deck(elements, rig, supply, board, ground):
    """The sense circuit on the most easily keyed transmitter, at rest."""
    idle, pull_up = assume("ptt", rig[0]), assume("ptt", rig[1])
    bench = BOARD.format(v33=BOARDS[board], ground=0.1)
    # The transmitter's ground is node t; a broken lead leaves the sense circuit on 0.1 mA of air.
    bench += f"VT up t {idle}\nRT up line {pull_up}\nRTG t 0 0.05\nRLEAD t rgnd {GROUNDS[ground]}\n"
    if GROUNDS[ground] > 1:
        bench = bench.replace("RGROUND rgnd 0 0.1", "RGROUND rgnd 0 1e11")
    bench += SUPPLIES[supply].replace("rgnd", "t") + "\n"
    return spice.Deck(elements, bench, "op", ["v(line,t)"], {}, 25, "gmin=1e-14")


def sweep_faults(pairs, situations):
    """Lowest and highest line voltage, as parts of the idle voltage, with their stories."""
    names, decks = [], []
    for story, elements in pairs:
        for rig, supply, board, ground in situations:
            names.append(f"{story}, line idle at {assume('ptt', rig[0]):g} V, rig's 12 V {supply}, "
                         f"board {board}, ground lead {ground}")
            decks.append((fault_deck(elements, rig, supply, board, ground), assume("ptt", rig[0])))
    results = spice.run([deck for deck, _ in decks])
    ratios = [float(r["v(line,t)"][-1]) / idle
              for r, (_, idle) in zip(results, decks, strict=True)]
    order = numpy.argsort(ratios)
    return (ratios[order[0]], names[order[0]], len(names)), (ratios[order[-1]], names[order[-1]])


def never_keys(figures):
    """Shorts and opens every part, alone and in pairs."""
    keys_below = 100 * assume("ptt", "keys_below")
    # The wiring as it should be with the rig on, off or unplugged; or one wiring error.
    wiring = [("13.8 V", "joined"), ("off", "joined"), ("unplugged", "joined"),
              ("reversed", "joined"), ("13.8 V", "broken"), ("off", "broken")]
    everything = [(rig, supply, board, ground) for rig in RIGS for board in BOARDS
                  for supply, ground in wiring]
    (whole, _, _), _ = sweep_faults([("nothing failed", ELEMENTS)], everything)
    figures.add("ptt.line.whole", 100 * whole, "%",
                "lowest PTT line of the most easily keyed transmitter, nothing failed, as a part "
                "of its open-circuit voltage", least=keys_below, digits=1)
    singles = list(faults.single(ELEMENTS))
    (low, story, count), (high, high_story) = sweep_faults(singles, everything)
    figures.add("ptt.line.fault", 100 * low, "%",
                f"the same with any one part shorted or open: {len(singles)} faults in "
                f"{len(everything)} situations, {count} cases; lowest: {story}",
                least=keys_below, digits=1)
    figures.add("ptt.line.push", assume("ptt", "idle_low") * (high - 1) if high > 1 else 0, "V",
                f"most that a fault lifts a line that idles at 3 V; {high_story}", digits=2)
    chafed = [*ELEMENTS, spice.Element("RCHAFED", ("1", "2"), ("wire", "rgnd"), "0.01")]
    (low, _, _), _ = sweep_faults([("cable chafed to ground", chafed)], everything)
    figures.add("ptt.line.cable", 100 * low, "%",
                "the same with the cable shorted to ground behind the plug that holds R301",
                least=keys_below, digits=1)
    few = [(RIGS[0], "13.8 V", "on", "joined"), (RIGS[0], "off", "off", "joined")]
    both = "R301 shorted and R302 shorted"
    doubles = [pair for pair in faults.double(ELEMENTS) if pair[0] != both]
    (low, story, count), _ = sweep_faults(doubles, few)
    figures.add("ptt.line.two.faults", 100 * low, "%",
                f"the same with any two parts failed at once other than both series resistors "
                f"shorted, {count} cases; lowest: {story}", least=keys_below, digits=1)
    return singles


def table(figures, singles):
    """Writes the fault table: lowest line voltage of each fault."""
    situations = [(RIGS[0], supply, "on", "joined") for supply in SUPPLIES]
    lines = ["fault,lowest_line_V,line_idle_V,keys_below_V"]
    idle = assume("ptt", "idle_low")
    decks = [fault_deck(elements, *situation) for _, elements in singles
             for situation in situations]
    results = spice.run(decks)
    for index, (story, _) in enumerate(singles):
        group = results[index * len(situations) : (index + 1) * len(situations)]
        lowest = min(float(r["v(line,t)"][-1]) for r in group)
        lines.append(f"{story},{lowest:.2f},{idle:.1f},{idle * assume('ptt', 'keys_below'):.1f}")
    plots.text_file("ptt-sense", "faults.csv", "\n".join(lines) + "\n")
    figures.check("ptt.fault.table", not math.isnan(lowest), f"{len(singles)} faults listed in "
                  "circuits/ptt-sense/faults.csv")


def check(figures):
    """All checks of the PTT sense."""
    thresholds(figures)
    delay(figures)
    spikes(figures)
    plug(figures)
    table(figures, never_keys(figures))
