"""Trained weights to the file that the program carries: ONNX, matrices in int8, everything else in float32.

Run: python export.py VARIANT WEIGHTS_FOLDER OUT.onnx [--float]
"""
import argparse
import pathlib
import tempfile

import numpy as np
import torch

import mel
from network import Network


class Scores(torch.nn.Module):
    """The network with the softmax on top: mel (1, BANDS, T) -> log-probabilities (1, frames, outputs)."""

    def __init__(self, net):
        super().__init__()
        self.net = net

    def forward(self, x):
        return torch.log_softmax(self.net(x), -1)


def load(variant, folder):
    net = Network(variant)
    halves = [np.load(pathlib.Path(folder) / f"{variant}-{k}.npz") for k in (0, 1)]
    net.load_state_dict({k: torch.tensor(h[k]).float() for h in halves for k in h.files})
    return net.eval()


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("variant")
    p.add_argument("weights")
    p.add_argument("out")
    p.add_argument("--float", action="store_true")
    args = p.parse_args()
    net = Scores(load(args.variant, args.weights))
    with tempfile.TemporaryDirectory() as folder:
        plain = f"{folder}/plain.onnx"
        torch.onnx.export(net, torch.zeros(1, mel.BANDS, 800), plain, input_names=["mel"], output_names=["scores"], opset_version=17,
                          dynamic_axes={"mel": {2: "frames"}, "scores": {1: "steps"}}, dynamo=False)
        if args.float:
            pathlib.Path(args.out).write_bytes(pathlib.Path(plain).read_bytes())
            return
        from onnxruntime.quantization import QuantType, quantize_dynamic

        quantize_dynamic(plain, args.out, op_types_to_quantize=["MatMul"], per_channel=True, weight_type=QuantType.QInt8)


if __name__ == "__main__":
    main()
