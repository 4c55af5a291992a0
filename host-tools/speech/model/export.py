"""Trained weights to the file that the program carries: ONNX, matrices in int8, everything else in float32.

Run: python export.py VARIANT WEIGHTS_FOLDER [WEIGHTS_FOLDER …] OUT.onnx [--float]. Of several folders, of which all but
the first went on from the first one's weights, the mean is taken: it keeps what each has learnt.
"""
import argparse
import pathlib
import tempfile

import numpy as np
import torch

import mel
from network import Network


class Scores(torch.nn.Module):
    """The network with the softmax on top: mel (1, BANDS, T) -> log-probabilities of words (1, steps, outputs) and of
    letters (1, 2 steps, LETTERS). A runtime that asks for the words alone does not compute the letters."""

    def __init__(self, net):
        super().__init__()
        self.net = net

    def forward(self, x):
        words, letters = self.net(x)
        return torch.log_softmax(words, -1), torch.log_softmax(letters, -1)


def state_of(variant, folder):
    """{name: float32 array} of the files that `train.py` wrote into `folder`."""
    files = sorted(pathlib.Path(folder).glob(f"{variant}-*.npz"))
    if not files:
        raise OSError(f"no weights of {variant} in {folder}")
    return {name: value.astype(np.float32) for f in files for name, value in np.load(f).items()}


def load(variant, *folders):
    """The network with the mean of the weights in `folders`."""
    net, states = Network(variant), [state_of(variant, f) for f in folders]
    net.load_state_dict({name: torch.tensor(np.mean([s[name] for s in states], axis=0)) for name in states[0]})
    return net.eval()


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
        scale = np.abs(value).reshape(len(value), -1).max(1).clip(1e-8) / 127
        small = np.round(value / scale.reshape(-1, *[1] * (value.ndim - 1))).astype(np.int8)
        kept_tensors += [numpy_helper.from_array(small, name + "_int8"), numpy_helper.from_array(scale.astype(np.float32), name + "_step")]
        new_nodes.append(helper.make_node("DequantizeLinear", [name + "_int8", name + "_step"], [name], axis=0))
    del graph.node[:], graph.initializer[:]
    graph.node.extend(new_nodes + kept_nodes)
    graph.initializer.extend(kept_tensors)
    onnx.checker.check_model(model)
    onnx.save(model, path)


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("variant")
    p.add_argument("weights", nargs="+")
    p.add_argument("out")
    p.add_argument("--float", action="store_true")
    args = p.parse_args()
    net = Scores(load(args.variant, *args.weights))
    with tempfile.TemporaryDirectory() as folder:
        plain = f"{folder}/plain.onnx"
        torch.onnx.export(net, torch.zeros(1, mel.BANDS, 800), plain, input_names=["mel"], output_names=["scores", "letters"], opset_version=17,
                          dynamic_axes={"mel": {2: "frames"}, "scores": {1: "steps"}, "letters": {1: "letter_steps"}}, dynamo=False)
        if args.float:
            pathlib.Path(args.out).write_bytes(pathlib.Path(plain).read_bytes())
            return
        from onnxruntime.quantization import QuantType, quantize_dynamic

        quantize_dynamic(plain, args.out, op_types_to_quantize=["MatMul"], per_channel=True, weight_type=QuantType.QInt8)
        shrink(args.out)


if __name__ == "__main__":
    main()
