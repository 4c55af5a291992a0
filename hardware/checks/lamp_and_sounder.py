"""Lamp and sounder: currents on, and silence while the board starts. GPS lines too."""

from . import sampling, spice
from .table import assume

RUNS = 60
LAMP = spice.read_circuit("lamp-and-sounder")
REFS = {e.ref for e in LAMP if e.ref in spice.values()}
VECTORS = ["i(V5)", "i(VL)", "i(VS)", "v(bz,c2)", "v(c1)"]


def deck(bench, parameters, celsius):
    """Both switches with the given drive of their pins."""
    return spice.Deck(LAMP, "V5 v5 0 5\n" + bench, "op", VECTORS, parameters, celsius)


def lamp(figures):
    """On and off over tolerance and temperature."""
    random = sampling.generator("lamp")
    on, off, pin, sounder = [], [], [], []
    pull_up = assume("board", "weak_pull_up")
    starting = (f"VX up 0 3.3\nRL up l2 {pull_up}\nVL l2 lamp 0\n"
                f"RS up s2 {pull_up}\nVS s2 sounder 0\n")
    decks = []
    for _ in range(RUNS):
        drawn, warmth = sampling.draw(random, REFS), sampling.temperature(random)
        decks.append(deck("VL lamp 0 3.3\nVS sounder 0 0\n", drawn, warmth))
        decks.append(deck("VL lamp 0 0\nVS sounder 0 3.3\n", drawn, warmth))
        decks.append(deck(starting, drawn, warmth))
    results = spice.run(decks)
    for lit, loud, start in zip(results[0::3], results[1::3], results[2::3], strict=True):
        on.append(-1e3 * lit["i(V5)"][-1])
        pin += [-1e3 * lit["i(VL)"][-1], -1e3 * loud["i(VS)"][-1]]
        sounder.append(loud["v(bz,c2)"][-1])
        off.append(-1e6 * start["i(V5)"][-1])
    figures.add("lamp.current", min(on), "mA", f"lamp on, least of {RUNS}", least=5)
    figures.add("lamp.pin", max(pin), "mA", f"taken from the board's pin, most of {RUNS}",
                most=1e3 * assume("board", "pin_current"))
    figures.add("sounder.voltage", min(sounder), "V", f"across the sounder, least of {RUNS}",
                least=4.0)
    figures.add("lamp.starting", max(off), "µA",
                "lamp and sounder together while the board starts and its pins have a weak "
                f"pull-up, most of {RUNS}", most=100)


GPS = spice.read_circuit("gps")


def gps(figures):
    """The pulse arrives in time, and the receiver gets its voltage."""
    bench = (f"V33 v33 0 3.3\nIG g_vcc 0 {assume('gps', 'current')}\n"
             "VP g_pps 0 PULSE(0 3.3 1u 5n 5n 5u 20u)\n"
             "CP pps 0 250p\nRA gps_rx 0 1meg\nRB g_tx 0 1meg\nRC g_rx 0 1meg\nRD gps_tx 0 1meg\n")
    random = sampling.generator("gps")
    refs = {e.ref for e in GPS}
    decks = [spice.Deck(GPS, bench, "tran 2n 3u", ["v(pps)", "v(g_vcc)"],
                        sampling.draw(random, refs)) for _ in range(20)]
    late, volts = [], []
    for result in spice.run(decks):
        late.append(1e9 * (result["x"][result["v(pps)"] > assume("board", "pin_reads_high")][0]
                           - 1e-6))
        volts.append(min(result["v(g_vcc)"]))
    figures.add("gps.pulse.delay", max(late), "ns",
                "pulse from the receiver's pin to the board's over 2 m of cable, worst of 20",
                most=1000, digits=0)
    figures.add("gps.supply", min(volts), "V", "at a receiver that takes 60 mA", least=3.0,
                digits=2)


def check(figures):
    """All checks of lamp, sounder and GPS lines."""
    lamp(figures)
    gps(figures)
