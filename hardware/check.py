#!/usr/bin/env python3
"""Checks the hardware folder: runs every deck, compares drawings, pins and texts.

    check.py           checks; exit code 0 when everything holds, 1 when not
    check.py --write   also writes the plots, drawings and made lists anew

Needs the Debian packages in packages.txt and the Python packages in
requirements.txt; installs nothing itself.
"""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from checks import (
    closing,
    config_match,
    drawings,
    hold_up,
    ignition,
    lamp_and_sounder,
    lists,
    made,
    mark_button,
    plots,
    ptt_sense,
    pulses,
    receive_tap,
    spice,
    texts,
    transmit_tap,
)
from checks.figures import Figures
from checks.table import ROOT

DECKS = (receive_tap, transmit_tap, ptt_sense, mark_button, lamp_and_sounder, hold_up, pulses,
         ignition)


def main(arguments):
    """Runs everything and prints the figures last."""
    write = arguments == ["--write"]
    if arguments and not write:
        print(__doc__)
        return 2
    started = time.monotonic()
    figures = Figures()
    lists.check(figures)
    config_match.check(figures)
    closing.check(figures)
    files = drawings.check(figures)
    files[ROOT / "shopping-list.md"] = lists.shopping_list().encode()
    files[ROOT / "pins.md"] = lists.pin_tables().encode()
    files[ROOT / "recorder.toml"] = config_match.config_of_this_build().encode()
    simulated = spice.NGSPICE is not None
    if simulated:
        for module in DECKS:
            module.check(figures)
        files.update(plots.drawn)
        files[ROOT / "figures.md"] = lists.figure_table(figures).encode()
    texts.check(figures, simulated)
    made.check(figures, files, write)
    return figures.show(time.monotonic() - started, simulated)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
