"""The schematics: each agrees with the netlist that is simulated."""

from schematics import (
    audio_supply,
    compare,
    gps,
    ignition,
    lamp_and_sounder,
    mark_button,
    ptt_sense,
    receive_tap,
    supply,
    transmit_tap,
    vehicle,
)

from .table import ROOT

SHEETS = (audio_supply, gps, ignition, lamp_and_sounder, mark_button, ptt_sense, receive_tap,
          supply, transmit_tap)


def check(figures):
    """Compares every sheet with its netlist; gives the files to write."""
    files = {}
    for module in SHEETS:
        sheet = module.draw()
        wrong = compare.differences(sheet)
        count = len({ref for ref, _ in sheet.pins})
        figures.check(f"drawing.{sheet.name}", not wrong, "; ".join(wrong) or
                      f"{count} parts joined as in the netlist")
        files[ROOT / "circuits" / sheet.name / "schematic.svg"] = sheet.svg()
    # The comparison itself must be able to fail: leave out a wire.
    spoilt = receive_tap.draw()
    spoilt.wires.pop()
    figures.check("drawing.missing.wire", compare.differences(spoilt), "a missing wire is noticed")
    files[ROOT / "schematics" / "vehicle.svg"] = vehicle.draw().svg()
    return files
