"""Compares a drawing with the netlist that was simulated: same parts, same joints."""

from checks import spice


def netlist(circuit):
    """Nets of circuits/NAME/circuit.cir: {node: pins}."""
    nets = {}
    for element in spice.read_circuit(circuit):
        for pin, node in zip(element.pins, element.nodes, strict=True):
            nets.setdefault(node, set()).add((element.ref, pin))
    return nets


def differences(sheet):
    """What the drawing and the netlist of the same name do not agree on, in words."""
    wanted = {frozenset(pins): node for node, pins in netlist(sheet.name).items()}
    drawn = dict(sheet.nets())
    found = []
    for pins, node in wanted.items():
        if pins not in drawn:
            found.append(f"net {node} is not drawn: {sorted(pins)}")
        elif drawn[pins] - {node}:
            found.append(f"net {node} is drawn with the name {sorted(drawn[pins])}")
    found += [f"drawn but not in the netlist: {sorted(pins)} {sorted(names)}"
              for pins, names in drawn.items() if pins not in wanted]
    return found
