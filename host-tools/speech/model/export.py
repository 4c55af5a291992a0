"""Trained weights to the file that the program carries: ONNX, matrices in int8, everything else in float32.

Run: python export.py WEIGHTS_FOLDER [WEIGHTS_FOLDER …] OUT.onnx [--float]. Of several folders, of which all but
the first went on from the first one's weights, the mean is taken: it keeps what each has learnt.
Beside OUT.onnx stands OUT.onnx.deflate, the same packed (RFC 1951, Huffman codes alone): coarse matrices have few values.
One file holds the encoder (`mel` to `scores`, `letters`, `heard`) and the text decoder (export_text.py): a runtime computes
what it is asked for.
"""
import argparse
import pathlib
import tempfile
import zlib

import numpy as np
import torch

import mel
from decoder import LAYERS, TextDecoder
from export_text import coarse, memory_graph, text_graph
from network import Linear, Network


class Scores(torch.nn.Module):
    """The network with the softmax on top: mel (1, BANDS, T) -> log-probabilities of words (1, steps, outputs), of
    letters (1, 2 steps, LETTERS), and what was heard (1, steps, width). A runtime that asks for the words alone does not compute the rest."""

    def __init__(self, net):
        super().__init__()
        self.net = net

    def forward(self, x):
        words, letters, h = self.net.whole(x)
        return torch.log_softmax(words, -1), torch.log_softmax(letters, -1), h


def state_of(folder):
    """{name: float32 array} of the files that `train.py` wrote into `folder`."""
    files = sorted(pathlib.Path(folder).glob("base6-*.npz"))
    if not files:
        raise OSError(f"no weights in {folder}")
    return {name: value.astype(np.float32) for f in files for name, value in np.load(f).items()}


def load(*folders):
    """Encoder and decoder with the mean of the weights in `folders`; no decoder where there are no weights of one."""
    states = [state_of(f) for f in folders]
    mean = {name: torch.tensor(np.mean([s[name] for s in states], axis=0)) for name in states[0]}
    net, decoder = Network(), None
    if "decoder.table" in mean:
        decoder = TextDecoder(LAYERS, len(mean["decoder.table"]))
        decoder.load_state_dict({k[len("decoder.") :]: v for k, v in mean.items() if k.startswith("decoder.")})
        decoder.eval()
    net.load_state_dict({k.removeprefix("net."): v for k, v in mean.items() if not k.startswith("decoder.")})
    return net.eval(), decoder


def shrink(path):
    """Convolution weights and the position table of the ONNX file at `path` to int8 too, made float again as it loads."""
    import onnx
    from onnx import helper, numpy_helper

    model = onnx.load(path)
    graph = model.graph
    kernels = {n.input[1] for n in graph.node if n.op_type == "Conv"}
    large = {n.output[0]: numpy_helper.to_array(n.attribute[0].t) for n in graph.node if n.op_type == "Constant" and n.attribute[0].name == "value"}
    plain = {t.name: numpy_helper.to_array(t) for t in graph.initializer if t.name in kernels} | {k: v for k, v in large.items() if v.size > 10000}
    kept_nodes = [n for n in graph.node if n.output[0] not in plain]
    kept_tensors = [t for t in graph.initializer if t.name not in plain]
    new_nodes = []
    for name, value in plain.items():
        small, scale = coarse(value.reshape(len(value), -1), 8)
        kept_tensors += [numpy_helper.from_array(small.reshape(value.shape), name + "_int8"), numpy_helper.from_array(scale, name + "_step")]
        new_nodes.append(helper.make_node("DequantizeLinear", [name + "_int8", name + "_step"], [name], axis=0))
    del graph.node[:], graph.initializer[:]
    graph.node.extend(new_nodes + kept_nodes)
    graph.initializer.extend(kept_tensors)
    onnx.checker.check_model(model)
    onnx.save(model, path)


def keep_coarse(path, plain, net):
    """Gives the quantised matrices of the ONNX file at `path` the values that they were trained with, instead of the quantiser's."""
    import onnx
    from onnx import numpy_helper

    wanted = {}
    for module in net.modules():
        if isinstance(module, Linear):
            whole, step = coarse(module.weight.detach().numpy(), module.steps)
            wanted[module.weight.detach().numpy().T.tobytes()] = (whole.T.copy(), step)
    floats = {t.name: numpy_helper.to_array(t) for t in onnx.load(plain).graph.initializer}
    model, found = onnx.load(path), 0
    tensors = {t.name: t for t in model.graph.initializer}
    for name, value in floats.items():
        if (put := wanted.get(value.tobytes())) is not None and f"{name}_quantized" in tensors:
            for suffix, new in (("_quantized", put[0]), ("_scale", put[1])):
                assert numpy_helper.to_array(tensors[name + suffix]).size == new.size, name
                tensors[name + suffix].CopyFrom(numpy_helper.from_array(new, name + suffix))
            found += 1
    if found != len(wanted):
        raise ValueError(f"{found} of {len(wanted)} matrices are in the graph")
    onnx.save(model, path)


def join(path, parts):
    """Puts the graphs `parts` (graph, inputs, outputs) into the ONNX file at `path`."""
    import onnx

    model = onnx.load(path)
    for part, inputs, outputs in parts:
        model.graph.node.extend(part.nodes)
        model.graph.initializer.extend(part.tensors)
        model.graph.input.extend(inputs)
        model.graph.output.extend(outputs)
    onnx.checker.check_model(model)
    onnx.save(model, path)


def pack(path):
    packer = zlib.compressobj(9, zlib.DEFLATED, -15, 9, zlib.Z_HUFFMAN_ONLY)
    data = pathlib.Path(path).read_bytes()
    small = packer.compress(data) + packer.flush()
    pathlib.Path(f"{path}.deflate").write_bytes(small)
    print(f"{path}: {len(data) / 1e6:.1f} MB, packed {len(small) / 1e6:.2f} MB")


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("weights", nargs="+")
    p.add_argument("out")
    p.add_argument("--float", action="store_true")
    args = p.parse_args()
    net, decoder = load(*args.weights)
    with tempfile.TemporaryDirectory() as folder:
        plain = f"{folder}/plain.onnx"
        torch.onnx.export(Scores(net), torch.zeros(1, mel.BANDS, 800), plain, input_names=["mel"], output_names=["scores", "letters", "heard"], opset_version=17,
                          dynamic_axes={"mel": {2: "frames"}, "scores": {1: "steps"}, "letters": {1: "letter_steps"}, "heard": {1: "steps"}}, dynamo=False)
        if args.float:
            pathlib.Path(args.out).write_bytes(pathlib.Path(plain).read_bytes())
            return
        from onnxruntime.quantization import QuantType, quantize_dynamic

        quantize_dynamic(plain, args.out, op_types_to_quantize=["MatMul"], per_channel=True, weight_type=QuantType.QInt8)
        keep_coarse(args.out, plain, net)
        shrink(args.out)
        if decoder is not None:
            join(args.out, [memory_graph(decoder), text_graph(decoder)])
        pack(args.out)


if __name__ == "__main__":
    main()
