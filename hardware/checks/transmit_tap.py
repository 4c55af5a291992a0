"""Transmit tap: it must not load the microphone; level, ground noise, RF, hiss."""

from . import audio, faults, plots, sampling, spice
from .table import assume

RUNS = 100
RF = (7e6, 28e6)
ELEMENTS = spice.read_circuit("audio-supply") + spice.read_circuit("transmit-tap")
REFS = {e.ref for e in ELEMENTS if e.ref in spice.values()}
RANGES = {"U201_gbw": (5e6, 15e6)}
VOICE = "ac dec 20 300 3000"
# Two metres of shielded pair from the plug to the board.
CABLE = "CW1 w1 0 200p\nCW2 w2 0 {second}\nCP1 mic_hot w1 {across}\nCP2 mic_gnd w2 {across}\n"


def deck(analysis, vectors, parameters=None, temperature=25, elements=ELEMENTS,
         source_ohms=None, second="210p"):
    """The tap on a microphone of this source resistance."""
    ohms = assume("rig", "mic_source") if source_ohms is None else source_ohms
    bench = audio.BENCH.format(out="tx_out") + CABLE.format(second=second, across=audio.ACROSS)
    bench += f"VMIC ms rg 0 AC 1\nRS ms mic_hot {ohms}\nVG rg mic_gnd 0\nVCM rg 0 0\n"
    return spice.Deck(elements, bench, analysis, vectors, parameters or {}, temperature)


def common_deck(analysis, parameters, temperature, source_ohms, radio=False):
    """A voltage between the rig's ground and the board's; the microphone is silent."""
    elements = audio.with_leads(ELEMENTS, {"C203", "C204", "C205", "C206", "C209", "C252"})
    bench = audio.BENCH.format(out="tx_out") + CABLE.format(second="210p", across=audio.ACROSS)
    bench += f"VCM emf 0 0 AC 1\nRCM emf rg {source_ohms}\nRDC rg 0 1meg\n"
    bench += f"RS rg mic_hot {assume('rig', 'mic_source')}\nVG rg mic_gnd 0\n"
    if radio:
        bench += f"CSTRAY w1 tx_out {audio.STRAY}\n"
    return spice.Deck(elements, bench, analysis, ["v(tx_out)", "v(tap)"], parameters, temperature)


SETTINGS = {"microphone": (1, "mic_low", "mic_high"), "monitor": (0, "monitor_low", "monitor_high")}


def levels(figures):
    """The trimmer reaches the target for every microphone and monitor line."""
    target = assume("converter", "target")
    for name, (jumper, low, high) in SETTINGS.items():
        random = sampling.generator(f"transmit levels {name}")
        decks = []
        for _ in range(RUNS):
            drawn = {**sampling.draw(random, REFS, RANGES), "J201": jumper}
            warmth = sampling.temperature(random)
            decks.append(deck(VOICE, ["v(tx_out)"], {**drawn, "RV201_pos": 1}, warmth))
            decks.append(deck(VOICE, ["v(tx_out)"], {**drawn, "RV201_pos": assume("trimmer", "transmit")}, warmth,
                              source_ohms=1))
        results = spice.run(decks)
        weak = [audio.dbfs(abs(audio.at(r, "v(tx_out)", 1000)) * assume("rig", low))
                for r in results[0::2]]
        strong = [audio.dbfs(abs(audio.at(r, "v(tx_out)", 1000)) * assume("rig", high))
                  for r in results[1::2]]
        figures.add(f"transmit.{name}.weakest", min(weak), "dBFS",
                    f"speech from the weakest {name}, trimmer fully up, worst of {RUNS}",
                    least=target)
        figures.add(f"transmit.{name}.strongest", max(strong), "dBFS",
                    f"speech from the strongest {name}, trimmer at 3 % of its travel, "
                    f"worst of {RUNS}", most=target)
        flat = max(audio.flatness(r, "v(tx_out)") for r in results)
        figures.add(f"transmit.{name}.flatness", flat, "dB",
                    f"300 to 3,000 Hz against 1 kHz, {name}, worst of {2 * RUNS}", most=1.0)


def loading(figures):
    """What the tap takes from the microphone, whole and with any one part failed."""
    wide = "ac dec 20 300 3000"
    (whole,) = spice.run([deck(wide, ["v(mic_hot,mic_gnd)"])])
    loss = max(-audio.decibels(whole["v(mic_hot,mic_gnd)"]))
    figures.add("transmit.loading", loss, "dB",
                "level that the tap takes from a microphone of 2.2 kΩ, 300 to 3,000 Hz, "
                "worst frequency", most=0.2, digits=2)
    names, decks = [], []
    for name, elements in faults.single(ELEMENTS):
        names.append(name)
        decks.append(deck(wide, ["v(mic_hot,mic_gnd)"], elements=elements))
    worst, name = max((max(-audio.decibels(r["v(mic_hot,mic_gnd)"])), name)
                      for r, name in zip(spice.run(decks), names, strict=True))
    figures.add("transmit.loading.fault", worst, "dB",
                f"the same with any one part shorted or open, {len(names)} faults; "
                f"worst: {name}", most=1.5, digits=2)


def ground_noise(figures):
    """Whine between the grounds of rig and board must cancel."""
    random = sampling.generator("transmit ground")
    decks, gains = [], []
    for _ in range(RUNS):
        drawn = {**sampling.draw(random, REFS, RANGES), "RV201_pos": 1}
        warmth = sampling.temperature(random)
        decks.append(common_deck("ac dec 20 100 3000", drawn, warmth, 0.1))
        gains.append(deck("ac dec 20 100 3000", ["v(tx_out)"], drawn, warmth))
    common, wanted = spice.run(decks), spice.run(gains)
    for hertz in (300, 1000, 3000):
        ratios = [audio.decibels(audio.at(w, "v(tx_out)", hertz) / audio.at(c, "v(tx_out)", hertz))
                  for c, w in zip(common, wanted, strict=True)]
        figures.add(f"transmit.ground.{hertz}Hz", min(ratios), "dB",
                    f"rejection of noise between the grounds at {hertz} Hz, against the "
                    f"microphone's level, worst of {RUNS}", least=35, digits=0)


def radio(figures):
    """Common-mode RF on the microphone cable."""
    random = sampling.generator("transmit radio")
    decks = []
    for _ in range(RUNS):
        drawn = {**sampling.draw(random, REFS, RANGES), "RV201_pos": 1}
        decks.append(common_deck("ac dec 20 100k 50meg", drawn, sampling.temperature(random),
                                 assume("rf", "source"), radio=True))
    results = spice.run(decks)
    for hertz in RF:
        loss = [-audio.decibels(audio.at(r, "v(tx_out)", hertz)) for r in results]
        figures.add(f"transmit.rejection.{hertz / 1e6:.0f}MHz", min(loss), "dB",
                    f"common mode on the cable against the converter's input at "
                    f"{hertz / 1e6:.0f} MHz, no ferrite, worst of {RUNS}", least=60, digits=0)
    (nominal,) = spice.run([common_deck("ac dec 20 100k 50meg", {"RV201_pos": 1}, 25,
                                        assume("rf", "source"), radio=True)])
    plots.lines("transmit-tap", "radio-rejection",
                [(nominal["x"] / 1e6, -audio.decibels(nominal["v(tx_out)"]), "")],
                "frequency, MHz", "rejection, dB", "Transmit tap, common mode on the cable",
                log=True, marks=[7, 28])


def noise(figures):
    """Hiss of the tap in the voice band with the trimmer fully up."""
    random = sampling.generator("transmit noise")
    decks = [deck("noise v(tx_out) VMIC dec 20 300 3000", ["onoise_spectrum"],
                  {**sampling.draw(random, REFS, RANGES), "RV201_pos": 1},
                  sampling.temperature(random)) for _ in range(40)]
    floor = max(audio.dbfs(audio.noise_volts(r)) for r in spice.run(decks))
    figures.add("transmit.noise", floor, "dBFS",
                "noise of the tap, 300 to 3,000 Hz, microphone setting, trimmer fully up, "
                "worst of 40", most=-65, digits=0)


def supply_noise(figures):
    """Noise on the board's 5 V must not be heard."""
    both = ELEMENTS + spice.read_circuit("receive-tap")
    bench = ("V5 v5 0 5 AC 1\nRC1 tx_out 0 10k\nRC2 rx_out 0 10k\nRM mic_hot mic_gnd 2.2k\n"
             "RMG mic_gnd 0 1\nRR in_hot in_gnd 4.7k\nRRG in_gnd 0 1\n")
    one = spice.Deck(both, bench, VOICE, ["v(tx_out)", "v(rx_out)"],
                     {"RV201_pos": 1, "RV101_pos": 1})
    (result,) = spice.run([one])
    loss = min(-audio.decibels(result["v(tx_out)"]).max(), -audio.decibels(result["v(rx_out)"]).max())
    figures.add("audio.supply.rejection", loss, "dB",
                "noise on the board's 5 V against either output, 300 to 3,000 Hz, worst "
                "frequency; the amplifier's own rejection not counted", least=50, digits=0)


def crosstalk(figures):
    """Receive audio must not show in the transmit channel, nor the other way."""
    both = ELEMENTS + spice.read_circuit("receive-tap")
    bench = "V5 v5 0 5\nRC1 tx_out 0 10k\nRC2 rx_out 0 10k\nRM mic_hot mic_gnd 2.2k\nRMG mic_gnd 0 1\n"
    bench += "VR rs in_gnd 0 AC 1\nRR rs in_hot 4.7k\nRRG in_gnd 0 1\n"
    one = spice.Deck(both, bench, VOICE, ["v(tx_out)", "v(rx_out)"],
                     {"RV201_pos": 1, "RV101_pos": 1})
    (result,) = spice.run([one])
    figures.add("audio.crosstalk", max(audio.decibels(result["v(tx_out)"] / result["v(rx_out)"])),
                "dB", "receive audio in the transmit channel, 300 to 3,000 Hz, by way of the "
                "common supply and bias", most=-50, digits=0)


def draw_response():
    """Plot of the level over frequency."""
    curves = []
    for name, (jumper, *_) in SETTINGS.items():
        (result,) = spice.run([deck("ac dec 40 30 100k", ["v(tx_out)"],
                                    {"J201": jumper, "RV201_pos": 1})])
        curves.append((result["x"], audio.decibels(result["v(tx_out)"]), name))
    plots.lines("transmit-tap", "response", curves, "frequency, Hz", "rig to converter, dB",
                "Transmit tap, trimmer fully up", log=True, band=(300, 3000))


def check(figures):
    """All checks of the transmit tap and of what both taps share."""
    levels(figures)
    loading(figures)
    ground_noise(figures)
    radio(figures)
    noise(figures)
    supply_noise(figures)
    crosstalk(figures)
    draw_response()
