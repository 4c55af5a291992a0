"""The text decoder as an ONNX graph, written by hand so that its table of pieces stands in the file once and every matrix keeps
the coarse values that it was trained with (`network.coarse`)."""
import math

import numpy as np
from onnx import TensorProto, helper, numpy_helper

FLOAT, INT8, INT64 = TensorProto.FLOAT, TensorProto.INT8, TensorProto.INT64


def coarse(matrix, steps):
    """(int8 matrix, step of each row): the numbers of `network.coarse`."""
    step = np.sqrt((matrix.astype(np.float64) ** 2).mean(1, keepdims=True)) / steps + 1e-9
    return np.clip(np.round(matrix / step), -127, 127).astype(np.int8), step[:, 0].astype(np.float32)


class Graph:
    """Nodes and tensors of a graph as they are added; every method gives the name of its result."""

    def __init__(self, prefix):
        self.prefix, self.nodes, self.tensors, self.count = prefix, [], [], 0

    def add(self, op, *inputs, name=None, **attributes):
        self.count += 1
        name = name or f"{self.prefix}{self.count}"
        self.nodes.append(helper.make_node(op, list(inputs), [name], **attributes))
        return name

    def constant(self, value, kind=np.float32):
        self.count += 1
        name = f"{self.prefix}constant{self.count}"
        self.tensors.append(numpy_helper.from_array(np.asarray(value, kind), name))
        return name

    def product(self, x, matrix, step):
        """x times an int8 matrix (inputs, outputs) of the graph, whose columns have the given steps; x goes to 8 bits as it comes."""
        self.count += 1
        q, scale, zero = (f"{self.prefix}{part}{self.count}" for part in ("q", "scale", "zero"))
        self.nodes.append(helper.make_node("DynamicQuantizeLinear", [x], [q, scale, zero]))
        whole = self.add("Cast", self.add("MatMulInteger", q, matrix, zero), to=FLOAT)
        return self.add("Mul", whole, self.add("Mul", scale, step))

    def linear(self, x, layer):
        whole, step = coarse(layer.weight.detach().numpy(), layer.steps)
        return self.add("Add", self.product(x, self.constant(whole.T.copy(), np.int8), self.constant(step)), self.constant(layer.bias.detach().numpy()))

    def norm(self, x, layer):
        return self.add("LayerNormalization", x, self.constant(layer.weight.detach().numpy()), self.constant(layer.bias.detach().numpy()), axis=-1, epsilon=layer.eps)

    def gelu(self, x):
        bent = self.add("Add", self.add("Erf", self.add("Div", x, self.constant(math.sqrt(2)))), self.constant(1.0))
        return self.add("Mul", self.add("Mul", x, bent), self.constant(0.5))

    def heads(self, x, count, turned=False):
        """(B, n, width) to (B, heads, n, 64), or (B, heads, 64, n)."""
        apart = self.add("Reshape", x, self.constant([0, 0, count, -1], np.int64))
        return self.add("Transpose", apart, perm=[0, 2, 3, 1] if turned else [0, 2, 1, 3])

    def looked(self, q, k, v, mask=None):
        """Attention of q (B, heads, n, 64) to k (B, heads, 64, T) and v (B, heads, T, 64), as (B, n, width)."""
        scores = self.add("Mul", self.add("MatMul", q, k), self.constant(0.125))
        if mask:
            scores = self.add("Add", scores, mask)
        seen = self.add("Transpose", self.add("MatMul", self.add("Softmax", scores, axis=-1), v), perm=[0, 2, 1, 3])
        return self.add("Reshape", seen, self.constant([0, 0, -1], np.int64))

    def parts(self, x, count):
        """x cut along its last axis into `count` equal parts."""
        self.count += 1
        names = [f"{self.prefix}part{self.count}_{k}" for k in range(count)]
        self.nodes.append(helper.make_node("Split", [x], names, axis=-1))
        return names


def value(name, kind, *shape):
    return helper.make_tensor_value_info(name, kind, list(shape))


def memory_graph(decoder):
    """What each layer looks at: `heard` (1, steps, width) -> `memory_key_K` (1, heads, 64, steps), `memory_value_K` (1, heads, steps, 64)."""
    g, outputs = Graph("memory_"), []
    for k, block in enumerate(decoder.blocks):
        key, seen = g.parts(g.linear("heard", block.heard), 2)
        g.nodes.append(helper.make_node("Identity", [g.heads(key, block.heads, turned=True)], [f"memory_key_{k}"]))
        g.nodes.append(helper.make_node("Identity", [g.heads(seen, block.heads)], [f"memory_value_{k}"]))
        outputs += [value(f"memory_key_{k}", FLOAT, 1, block.heads, 64, "steps"), value(f"memory_value_{k}", FLOAT, 1, block.heads, "steps", 64)]
    return g, [], outputs


def text_graph(decoder):
    """One step of writing. In: `pieces` (B, n), `places` (n), `mask` (n, past + n), the memory, and `past_key_K` (B, heads, 64, past),
    `past_value_K` (B, heads, past, 64). Out: `text` (B, n, pieces), log-probabilities of what follows each piece, and
    `new_key_K`, `new_value_K`: the past with these pieces."""
    g = Graph("text_")
    whole, step = coarse(decoder.table.detach().numpy(), decoder.steps)
    table, steps = g.constant(whole.T.copy(), np.int8), g.constant(step)
    columns = g.add("Cast", g.add("Gather", table, "pieces", axis=1), to=FLOAT)  # (width, B, n)
    x = g.add("Transpose", g.add("Mul", columns, g.add("Gather", steps, "pieces", axis=0)), perm=[1, 2, 0])
    x = g.add("Add", x, g.add("Gather", g.constant(decoder.place.detach().numpy()), "places", axis=0))
    inputs = [value("pieces", INT64, "rows", "pieces_count"), value("places", INT64, "pieces_count"), value("mask", FLOAT, "pieces_count", "all_pieces")]
    outputs = []
    for k, block in enumerate(decoder.blocks):
        h = block.heads
        q, key, seen = g.parts(g.linear(g.norm(x, block.norm1), block.qkv), 3)
        keys = g.add("Concat", f"past_key_{k}", g.heads(key, h, turned=True), name=f"new_key_{k}", axis=3)
        values = g.add("Concat", f"past_value_{k}", g.heads(seen, h), name=f"new_value_{k}", axis=2)
        x = g.add("Add", x, g.linear(g.looked(g.heads(q, h), keys, values, "mask"), block.out))
        ask = g.heads(g.linear(g.norm(x, block.norm2), block.ask), h)
        x = g.add("Add", x, g.linear(g.looked(ask, f"memory_key_{k}", f"memory_value_{k}"), block.told))
        x = g.add("Add", x, g.linear(g.gelu(g.linear(g.norm(x, block.norm3), block.up)), block.down))
        inputs += [value(f"past_key_{k}", FLOAT, "rows", h, 64, "past"), value(f"past_value_{k}", FLOAT, "rows", h, "past", 64)]
        outputs += [value(f"new_key_{k}", FLOAT, "rows", h, 64, "all_pieces"), value(f"new_value_{k}", FLOAT, "rows", h, "all_pieces", 64)]
    scores = g.product(g.norm(x, decoder.norm), table, steps)
    g.add("LogSoftmax", scores, name="text", axis=-1)
    return g, inputs, [value("text", FLOAT, "rows", "pieces_count", len(whole))] + outputs
