"""The supply under the pulses of the car's standards, cranking, jump start and reversal."""

import dataclasses

import numpy

from . import car, plots, sampling, spice, whole
from .table import assume, values

VECTORS = ["v(vh)", "v(v5)", "v(vin,vp)", "v(vp,vh)", "i(VB)", "v(vin)", "v(bank)",
           "v(low_supply)", "v(pb)", "v(battery)"]
BEARS, LEAST = assume("board", "converter_bears"), assume("board", "least")
# The leads of the reservoir capacitors: without them no pulse would ever get through.
LEADS = {"C702": (20e-9, 0.15), "C703": (10e-9, 0.02), "C701": (10e-9, 0.02)}


def built():
    """The supply with the leads and losses of its capacitors."""
    changed = []
    for element in whole.ALL:
        if element.ref in LEADS:
            henry, ohms = LEADS[element.ref]
            ref, inner, lead = element.ref, f"in_{element.ref}", f"lead_{element.ref}"
            changed += [dataclasses.replace(element, nodes=(inner, element.nodes[1])),
                        spice.Element(f"L{ref}", ("1", "2"), (element.nodes[0], lead),
                                      repr(henry)),
                        spice.Element(f"R{ref}loss", ("1", "2"), (lead, inner), repr(ohms))]
        else:
            changed.append(element)
    return changed


ELEMENTS = built()


def pulse_deck(pulse, parameters, celsius):
    """One pulse on top of the resting voltage, onto a running recorder."""
    start = max(20 * pulse.rise, 1e-6)
    stop = start + 2 * pulse.length + 20 * pulse.rise
    step = min(pulse.length / 200, pulse.rise)
    # The generator feeds the pulse through its own resistance. The battery feeds the
    # rest through a diode, and is away during a negative pulse, as in the standard.
    bench = whole.BOARD + f"VB vb 0 {car.RESTING + 0.4}\nVP pb mid {pulse.waveform(start)}\n"
    bench += f"VM mid 0 {car.RESTING}\nRP pb battery {pulse.ohms}\nVA acc 0 {car.RESTING}\n"
    if pulse.peak < 0:
        bench += f"VC ctl 0 PWL(0 1 {0.5 * start:.3e} 1 {0.55 * start:.3e} 0)\n"
    else:
        bench += "VC ctl 0 1\n"
    bench += "SB vb feed ctl 0 battery\n.model battery SW(VT=0.5 VH=0.1 RON=0.01 ROFF=10meg)\n"
    bench += "DB feed battery bat\n.model bat D(IS=1u N=1 RS=0.01)\n"
    return spice.Deck(ELEMENTS, bench, f"tran {step:.3e} {stop:.6e} 0 {step * 5:.3e}", VECTORS,
                      {**parameters, **whole.POWER}, celsius)


def pulses(figures):
    """No part meets more than it bears, and the board's 5 V stays."""
    random = sampling.generator("pulses")
    corners = [({}, 25)] + [(sampling.draw(random, whole.REFS), sampling.temperature(random))
                            for _ in range(5)]
    decks = [pulse_deck(pulse, *corner) for pulse in car.PULSES for corner in corners]
    results = spice.run(decks)
    for index, pulse in enumerate(car.PULSES):
        group = results[index * len(corners) : (index + 1) * len(corners)]
        name = pulse.name.replace("ISO 7637-2 ", "").replace("ISO 16750-2 ", "")
        key = "pulse." + name.replace(",", "").replace("pulse ", "").replace(" ", ".")
        figures.add(f"{key}.module", max(r["v(vh)"].max() for r in group), "V",
                    f"{pulse.name}: highest at the converter module, worst of {len(group)}",
                    most=BEARS)
        figures.add(f"{key}.diode", max(0, *(-r["v(vin,vp)"].min() for r in group)), "V",
                    f"{pulse.name}: highest reverse voltage on D703", most=200, digits=0)
        figures.add(f"{key}.switch", max(r["v(vp,vh)"].max() for r in group), "V",
                    f"{pulse.name}: highest voltage on Q701", most=200, digits=0)
        figures.add(f"{key}.board", min(r["v(v5)"].min() for r in group), "V",
                    f"{pulse.name}: lowest 5 V", least=LEAST, digits=2)
        if "test A" in pulse.name:
            dump(figures, group)


def dump(figures, group):
    """What the load dump costs the small parts, and its plot."""
    def energy(result, power):
        return float(numpy.trapezoid(power, result["x"]))

    nominal = group[0]
    current = (nominal["v(pb)"] - nominal["v(battery)"]) / 0.5
    across = nominal["v(vp,vh)"]
    vp = nominal["v(vin)"] - nominal["v(vin,vp)"]
    feed = numpy.maximum(vp - 28, 0) / values()["R703"]
    figures.add("dump.R703", energy(nominal, feed**2 * values()["R703"]), "J",
                "load dump, test A: energy in R703", most=2, digits=2)
    figures.add("dump.D702", energy(nominal, feed * 27), "J",
                "load dump, test A: energy in D702", most=0.5, digits=2)
    figures.add("dump.Q701", energy(nominal, numpy.maximum(across * current, 0)), "J",
                "load dump, test A: energy in Q701", most=1, digits=2)
    plots.lines("supply", "load-dump",
                [(nominal["x"], nominal["v(vin)"], "12 V at the box"),
                 (nominal["x"], nominal["v(vh)"], "converter module's input"),
                 (nominal["x"], nominal["v(v5)"], "board's 5 V")],
                "time, s", "volts", "ISO 16750-2 load dump, test A (values from memory)",
                levels=[(BEARS, "module bears")])


def cranking(figures):
    """The board's 5 V through the starting profile, bank full before."""
    decks = []
    for level, (lowest, plateau, length) in car.CRANKING.items():
        profile = car.cranking(lowest, plateau, length, 0.1)
        bench = whole.BOARD + f"VB battery 0 {profile}\nVA acc 0 {profile}\nRX pb 0 1k\n"
        for parameters in ({}, whole.aged(dict.fromkeys(whole.CELLS, 8.0))):
            decks.append((level, spice.Deck(ELEMENTS, bench, f"tran 5m {length + 1:.1f}", VECTORS,
                                            {**parameters, **whole.POWER})))
    results = spice.run([deck for _, deck in decks])
    for index, level in enumerate(car.CRANKING):
        new, old = results[2 * index], results[2 * index + 1]
        long = car.CRANKING[level][2] > 5 and car.CRANKING[level][1] < 7
        figures.add(f"cranking.{level}.new", new["v(v5)"].min(), "V",
                    f"ISO 16750-2 starting profile {level}: lowest 5 V, new cells",
                    digits=2, **({} if long else {"least": LEAST}))
        figures.add(f"cranking.{level}.old", old["v(v5)"].min(), "V",
                    f"starting profile {level}: lowest 5 V, old cells at the edge of tolerance",
                    digits=2, **({} if long else {"least": LEAST}))
        warned = old["v(low_supply)"].min() < 0.8
        if long:
            end = old["x"][numpy.argmax(old["v(v5)"] < LEAST)]
            low = old["x"][numpy.argmax(old["v(low_supply)"] < 0.8)]
            figures.add(f"cranking.{level}.warning", end - low, "s",
                        f"starting profile {level}, old cells: from the low-supply pin to loss "
                        "of the 5 V", least=1)
            figures.check(f"cranking.{level}.warned", warned, "the low-supply pin falls first")
    shown = results[2 * list(car.CRANKING).index("III")]
    plots.lines("supply", "cranking",
                [(shown["x"], shown["v(vin)"], "12 V at the box"),
                 (shown["x"], shown["v(vh)"], "converter module's input"),
                 (shown["x"], shown["v(v5)"], "board's 5 V")],
                "time, s", "volts", "ISO 16750-2 starting profile III (values from memory)")


def steady(figures):
    """Jump start, regulator failure and reversed battery, for as long as they last."""
    vectors = ["v(vh)", "v(v5)", "i(VB)", "v(zb)", "v(vh,zb)", "v(vh,em)", "v(em,bank)", "v(vp,vh)"]
    decks = []
    for volts in (24, 18, -14):
        bench = whole.BOARD + f"VB battery 0 {volts}\nVA acc 0 {volts}\n"
        if volts < 0:
            bench = f"VB battery 0 {volts}\nVA acc 0 {volts}\nV33 v33 0 0\nVH power_hold 0 0\n"
        decks.append(spice.Deck(whole.ALL, bench, "op", vectors, {**whole.POWER}))
    jump, over, back = spice.run(decks)
    figures.add("jump.module", jump["v(vh)"][-1], "V", "jump start, 24 V: at the converter module",
                most=BEARS)
    figures.add("jump.D705", jump["v(zb)"][-1] * jump["v(vh,zb)"][-1] / values()["R704"], "W",
                "jump start: power in D705", most=1.3, digits=2)
    figures.add("jump.R704", jump["v(vh,zb)"][-1] ** 2 / values()["R704"], "W",
                "jump start: power in R704", most=1.0, digits=2)
    figures.add("over.board", over["v(v5)"][-1], "V", "18 V for an hour: the board's 5 V",
                least=LEAST, digits=2)
    figures.add("reversed.current", 1e3 * abs(back["i(VB)"][-1]), "mA",
                "battery reversed, 14 V: current", most=1, digits=2)


def opens(figures):
    """Where Q701 opens, over tolerance."""
    random = sampling.generator("opens")
    bench = "VB battery 0 PWL(0 13 0.05 13 1.05 40)\nVE en 0 5\n"
    decks = [spice.Deck(whole.SUPPLY, bench, "tran 2m 1.1", ["v(vin)", "v(vp,vh)", "v(vh)"],
                        {**sampling.draw(random, whole.REFS), **whole.POWER},
                        sampling.temperature(random)) for _ in range(30)]
    at = []
    for result in spice.run(decks):
        open_at = numpy.argmax(result["v(vp,vh)"] > 3)
        at.append(float(result["v(vin)"][open_at]))
    figures.add("switch.opens.least", min(at), "V",
                "Q701 opens when the 12 V rises above this, least of 30: over a jump start",
                least=25)
    figures.add("switch.opens.most", max(at), "V",
                "the same, most of 30: under what the module bears", most=36)


def check(figures):
    """All checks of the supply's survival."""
    pulses(figures)
    cranking(figures)
    steady(figures)
    opens(figures)
