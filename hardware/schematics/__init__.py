"""The schematics as code: each module draws one circuit, its wires are compared with the netlist."""
