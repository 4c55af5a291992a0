"""Receive tap: level, flatness, RF, noise, for the range of rig outputs."""


from . import audio, plots, sampling, spice
from .table import assume

RUNS = 100
RF = (7e6, 28e6)
ELEMENTS = spice.read_circuit("audio-supply") + spice.read_circuit("receive-tap")
REFS = {e.ref for e in ELEMENTS if e.ref in spice.values()}
RANGES = {"T101": (1.5, 4.0), "U201_gbw": (5e6, 15e6)}
VOICE = "ac dec 20 300 3000"


def deck(source_ohms, analysis, vectors, parameters=None, temperature=25, elements=ELEMENTS):
    """The tap on a rig of this source resistance; the rig's ground is the board's."""
    bench = audio.BENCH.format(out="rx_out") + f"VRIG rs rg 0 AC 1\nRS rs in_hot {source_ohms}\n"
    return spice.Deck(elements, bench + "VCM rg 0 0\nVG rg in_gnd 0\n", analysis, vectors,
                      parameters or {}, temperature)


def common_mode_deck(parameters=None, temperature=25, turns=0):
    """RF between the rig's ground and the board's; the rig's own signal is silent."""
    elements = audio.with_leads(ELEMENTS, {"C101", "C102", "C105", "C106", "C252"})
    bench = audio.BENCH.format(out="rx_out")
    bench += f"VCM emf 0 0 AC 1\nRCM emf rg {assume('rf', 'source')}\nRDC rg 0 1meg\n"
    bench += f"CSTRAY p1 rx_out {audio.STRAY}\n"
    bench += f"CP1 in_hot p1 {audio.ACROSS}\nCP2 in_gnd p2 {audio.ACROSS}\n"
    if turns:
        bench += (f"XFH rh in_hot ferrite turns={turns}\nXFG rg in_gnd ferrite turns={turns}\n"
                  f"RS rg rh {assume('rig', 'fixed_source')}\n")
    else:
        bench += f"RS rg in_hot {assume('rig', 'fixed_source')}\nVG rg in_gnd 0\n"
    return spice.Deck(elements, bench, "ac dec 20 100k 50meg", ["v(rx_out)", "v(rap)"],
                      parameters or {}, temperature)


# Jumper, source resistance, lowest and highest speech level at the rig.
SETTINGS = {
    "fixed": (0, "fixed_source", "fixed_low", "fixed_high"),
    "speaker": (1, "speaker_source", "speaker_low", "speaker_high"),
}


def levels(figures):
    """The trimmer reaches the target for every rig, and not at the end of its travel."""
    target = assume("converter", "target")
    for name, (jumper, source, low, high) in SETTINGS.items():
        random = sampling.generator(f"receive levels {name}")
        decks = []
        for _ in range(RUNS):
            drawn = sampling.draw(random, REFS, RANGES)
            warmth = sampling.temperature(random)
            base = {**drawn, "J101": jumper}
            # Full travel with the weakest rig; a twentieth with the strongest and stiffest.
            decks.append(deck(assume("rig", source), VOICE, ["v(rx_out)"],
                              {**base, "RV101_pos": 1}, warmth))
            decks.append(deck(0.1, VOICE, ["v(rx_out)"], {**base, "RV101_pos": assume("trimmer", "receive")}, warmth))
        results = spice.run(decks)
        weak = [audio.dbfs(abs(audio.at(r, "v(rx_out)", 1000)) * assume("rig", low))
                for r in results[0::2]]
        strong = [audio.dbfs(abs(audio.at(r, "v(rx_out)", 1000)) * assume("rig", high))
                  for r in results[1::2]]
        figures.add(f"receive.{name}.weakest", min(weak), "dBFS",
                    f"speech from the weakest {name} output, trimmer fully up, worst of {RUNS}",
                    least=target)
        figures.add(f"receive.{name}.strongest", max(strong), "dBFS",
                    f"speech from the strongest {name} output, trimmer at 5 % of its travel, "
                    f"worst of {RUNS}", most=target)
        flat = max(audio.flatness(r, "v(rx_out)") for r in results)
        figures.add(f"receive.{name}.flatness", flat, "dB",
                    f"300 to 3,000 Hz against 1 kHz, {name} output, worst of {2 * RUNS}", most=1.0)


def radio(figures):
    """Common-mode RF on the audio cable, at the converter."""
    random = sampling.generator("receive radio")
    decks = []
    for _ in range(RUNS):
        drawn = sampling.draw(random, REFS, {**RANGES, "T101_cww": (30e-12, 100e-12)})
        decks.append(common_mode_deck({**drawn, "RV101_pos": 1}, sampling.temperature(random)))
    results = spice.run(decks)
    for hertz in RF:
        loss = [-audio.decibels(audio.at(r, "v(rx_out)", hertz)) for r in results]
        figures.add(f"receive.rejection.{hertz / 1e6:.0f}MHz", min(loss), "dB",
                    f"common mode on the cable against the converter's input at "
                    f"{hertz / 1e6:.0f} MHz, no ferrite, worst of {RUNS}", least=60, digits=0)
        pin = [-audio.decibels(audio.at(r, "v(rap)", hertz)) for r in results]
        figures.add(f"receive.pin.{hertz / 1e6:.0f}MHz", min(pin), "dB",
                    f"the same against the amplifier's input pin at {hertz / 1e6:.0f} MHz",
                    least=40, digits=0)
    bare, choked = spice.run([common_mode_deck({"RV101_pos": 1}),
                              common_mode_deck({"RV101_pos": 1}, turns=4)])
    gain = audio.decibels(audio.at(bare, "v(rx_out)", 7e6) / audio.at(choked, "v(rx_out)", 7e6))
    figures.add("receive.ferrite.7MHz", gain, "dB",
                "what four turns through a clip-on ferrite add at 7 MHz: nothing, the tap is "
                "already a high resistance to RF; ferrites belong on the other leads")
    return bare, choked


def noise(figures):
    """Noise of the tap in the voice band with the trimmer fully up."""
    random = sampling.generator("receive noise")
    decks = []
    for _ in range(40):
        drawn = sampling.draw(random, REFS, RANGES)
        one = deck(assume("rig", "fixed_source"), "noise v(rx_out) VRIG dec 20 300 3000",
                   ["onoise_spectrum"], {**drawn, "RV101_pos": 1}, sampling.temperature(random))
        decks.append(one)
    floor = max(audio.dbfs(audio.noise_volts(r)) for r in spice.run(decks))
    figures.add("receive.noise", floor, "dBFS",
                "noise of the tap, 300 to 3,000 Hz, trimmer fully up, worst of 40", most=-85,
                digits=0)


def draw(bare, choked):
    """Plots: level over frequency in the voice band, rejection over radio frequency."""
    wide = "ac dec 40 30 100k"
    curves = []
    for name, (jumper, source, *_) in SETTINGS.items():
        (result,) = spice.run([deck(assume("rig", source), wide, ["v(rx_out)"],
                                    {"J101": jumper, "RV101_pos": 1})])
        gain = audio.decibels(result["v(rx_out)"])
        curves.append((result["x"], gain, f"{name} output"))
    plots.lines("receive-tap", "response", curves, "frequency, Hz",
                "rig to converter, dB", "Receive tap, trimmer fully up", log=True,
                band=(300, 3000))
    plots.lines("receive-tap", "radio-rejection",
                [(r["x"] / 1e6, -audio.decibels(r["v(rx_out)"]), label)
                 for r, label in ((bare, "no ferrite"), (choked, "four turns of ferrite"))],
                "frequency, MHz", "rejection, dB", "Receive tap, common mode on the cable",
                log=True, marks=[7, 28])


def check(figures):
    """All checks of the receive tap."""
    levels(figures)
    curves = radio(figures)
    noise(figures)
    draw(*curves)
