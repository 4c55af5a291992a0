"""Prints values of the front end computed by librosa 0.11.0, for the test in src/mel.rs: (band, frame, value)."""
import librosa
import numpy as np


def noise(count):
    """The same pseudo-random samples as in the Rust test."""
    state, out = 1, []
    for _ in range(count):
        state = (state * 1664525 + 1013904223) % 2**32
        out.append(state / 2**32 - 0.5)
    return np.array(out, np.float32)


filters = librosa.filters.mel(sr=16000, n_fft=400, n_mels=80)[:62, :101]
spectrum = np.abs(librosa.stft(noise(4000), n_fft=200, hop_length=80, center=True, pad_mode="reflect"))[:, :50] ** 2
m = np.log10(filters @ spectrum + 1e-10)
m = np.maximum(m, m.max() - 5)
m = (m - m.mean()) / 4
for band, frame in [(0, 0), (3, 7), (10, 25), (30, 1), (45, 33), (61, 49), (61, 0), (20, 12)]:
    print(f"({band}, {frame}, {m[band, frame]:.5f}),")
