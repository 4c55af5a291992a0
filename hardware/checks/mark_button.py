"""Mark button: pressed, broken and shorted told apart; bounce swallowed."""

from . import plots, sampling, spice
from .table import assume

RUNS = 100
ELEMENTS = spice.read_circuit("mark-button")
REFS = {e.ref for e in ELEMENTS if e.ref in spice.values()}
RANGES = {"U401_ib": (0, 250e-9), "U401_vos": (-9e-3, 9e-3)}
RAILS = "V33 v33 0 3.3\nV5 v5 0 5\n"
LOW, HIGH = assume("board", "pin_reads_low"), assume("board", "pin_reads_high")
NODES = ["v(mark)", "v(button_fault)", "v(fb)", "v(vbreak)", "v(vpress)", "v(vshort)"]


def state_deck(state, parameters, celsius):
    """The button at rest, pressed, with its wire broken, shorted, or on 12 V."""
    wet = f"RWET loop_a 0 {assume('button', 'wet')}\n"
    bench = RAILS + {"idle": wet, "pressed": wet, "broken": "", "shorted": "RX loop_a 0 0.1\n",
                     "on 12 V": "VX loop_a 0 16\n"}[state]
    elements = ELEMENTS
    if state == "broken":
        elements = [e for e in ELEMENTS if e.ref != "R403"]
    closed = 1 if state == "pressed" else 0
    return spice.Deck(elements, bench, "op", [*NODES, "i(V33)"],
                      {**parameters, "SW401": closed}, celsius)


EXPECTED = {"idle": (1, 1), "pressed": (0, 1), "broken": (1, 0), "shorted": (0, 0),
            "on 12 V": (1, 0)}


def states(figures):
    """Each state gives its own pair of pin levels over tolerance and temperature."""
    margins = []
    for state, expected in EXPECTED.items():
        random = sampling.generator(f"button {state}")
        decks = [state_deck(state, sampling.draw(random, REFS, RANGES),
                            sampling.temperature(random)) for _ in range(RUNS)]
        results = spice.run(decks)
        seen = {tuple(1 if r[node][-1] > HIGH else 0 if r[node][-1] < LOW else -1
                      for node in ("v(mark)", "v(button_fault)")) for r in results}
        figures.check(f"button.{state.replace(' ', '.')}", seen == {expected},
                      f"mark and button_fault are {expected} in {RUNS} runs, seen {sorted(seen)}")
        margins += [abs(r["v(fb)"][-1] - r[node][-1]) for r in results
                    for node in ("v(vbreak)", "v(vpress)", "v(vshort)")]
        if state == "on 12 V":
            figures.add("button.on.12V", 1e3 * max(r["i(V33)"][-1] for r in results), "mA",
                        "current into the board's 3.3 V when the wire touches 16 V", most=5)
    figures.add("button.margin", min(margins), "V",
                f"least distance of the loop from any threshold, {RUNS} runs of each state",
                least=0.1, digits=2)


def bouncing(random, at, settled):
    """Times and levels of a contact that bounces from `at` on and then rests."""
    edges, time, level = [], at, settled
    while time < at + assume("button", "bounce"):
        edges.append((time, level))
        time += random.uniform(0.1e-3, 1e-3)
        level = 1 - level
    edges.append((time, settled))
    return edges


def bounce_deck(random, parameters, celsius):
    """A press at 30 ms and a release at 110 ms, both bouncing."""
    points, level = ["0 0"], 0
    for time, new in bouncing(random, 30e-3, 1) + bouncing(random, 110e-3, 0):
        points += [f"{time:.7f} {level}", f"{time + 2e-6:.7f} {new}"]
        level = new
    elements = [e for e in ELEMENTS if e.ref != "SW401"]
    bench = RAILS + f"VB ctl 0 PWL({' '.join(points)})\nSB s1 0 ctl 0 contact\n"
    bench += ".model contact SW(VT=0.5 VH=0.1 RON=0.1 ROFF=10meg)\n"
    return spice.Deck(elements, bench, "tran 0.2m 160m", ["v(mark)", "v(fb)", "v(ctl)"],
                      parameters, celsius)


def bounce(figures):
    """Bouncing presses give one edge each way."""
    random = sampling.generator("button bounce")
    decks = [bounce_deck(random, sampling.draw(random, REFS, RANGES),
                         sampling.temperature(random)) for _ in range(60)]
    results = spice.run(decks)
    most, late = 0, []
    for result in results:
        above = result["v(mark)"] > 1.4
        edges = result["x"][1:][above[1:] != above[:-1]]
        most = max(most, len(edges))
        late.append(1e3 * (edges[0] - 30e-3))
    figures.add("button.edges", most, "", "edges at the pin for one press and release that each "
                "bounce for 5 ms, most of 60; two is right", least=2, most=2, digits=0)
    figures.add("button.delay", max(late), "ms",
                "from the first touch to the pin, worst of 60", most=20)
    result = results[0]
    plots.lines("mark-button", "bounce",
                [(1e3 * result["x"], 0.5 * result["v(ctl)"] - 0.8, "contact, drawn below: up is closed"),
                 (1e3 * result["x"], result["v(fb)"], "after the filter"),
                 (1e3 * result["x"], result["v(mark)"], "pin, mark")],
                "time, ms", "volts", "A press and a release that bounce", x_limits=(20, 140))


def check(figures):
    """All checks of the mark button."""
    states(figures)
    bounce(figures)
