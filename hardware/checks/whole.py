"""The supply with the parts of the ignition and button circuits that hang on it."""

from . import spice
from .table import assume

SUPPLY = spice.read_circuit("supply")
ALL = SUPPLY + spice.read_circuit("ignition") + [
    element for element in spice.read_circuit("mark-button")
    if element.ref in {"R405", "R406", "R407", "R408"}]
REFS = {element.ref for element in ALL if element.ref in spice.values()}
CELLS = ("C705", "C706", "C707", "C708", "C709")
POWER = {"U701_p": assume("board", "power"), "U701_eff": assume("board", "converter_efficiency"),
         "U701_uvlo": assume("board", "converter_drops_out")}
# The board makes its 3.3 V from its 5 V and holds the module on.
BOARD = "EV33 v33 0 v5 0 0.66\nVH power_hold 0 3.3\n"


def aged(parameters):
    """Cells at the end of their life."""
    worn = dict(parameters)
    for cell in CELLS:
        worn[cell] = parameters.get(cell, spice.values()[cell]) * assume("cells", "aged")
    worn["cell_esr"] = assume("cells", "esr")
    return worn
