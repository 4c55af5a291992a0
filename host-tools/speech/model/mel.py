"""The front end: log mel energies at 8 kHz, level-invariant. Rust's `mel.rs` computes the same numbers."""
import numpy as np
import torch

RATE, SIZE, HOP, BANDS = 8000, 200, 80, 62
FLOOR = 5.0  # decades below the loudest cell that are kept


def filters():
    """Slaney mel filters of a 16 kHz, 80-band, 400-point front end, cut at 4 kHz: (BANDS, 101)."""
    to_mel = lambda f: np.where(f < 1000, f * 3 / 200, 15 + np.log(np.maximum(f, 1e-9) / 1000) / np.log(6.4) * 27)
    to_hz = lambda m: np.where(m < 15, m * 200 / 3, 1000 * np.exp(np.log(6.4) / 27 * (m - 15)))
    edges = to_hz(np.linspace(0, to_mel(np.array(8000.0)), 82))
    hz, out = np.arange(SIZE // 2 + 1) * RATE / SIZE, np.zeros((BANDS, SIZE // 2 + 1), np.float32)
    for k in range(BANDS):
        a, b, c = edges[k : k + 3]
        out[k] = np.maximum(0, np.minimum((hz - a) / (b - a), (c - hz) / (c - b))) * 2 / (c - a)
    return out


class Mel:
    """samples (B, N) at 8 kHz -> (B, BANDS, N // 80), one column for every 10 ms."""

    def __init__(self, device):
        self.filters = torch.tensor(filters(), device=device)
        self.window = torch.hann_window(SIZE, device=device)

    def __call__(self, x):
        power = torch.stft(x, SIZE, HOP, window=self.window, return_complex=True)[..., :-1].abs() ** 2
        m = torch.log10(self.filters @ power + 1e-10)
        m = torch.maximum(m, m.amax((1, 2), keepdim=True) - FLOOR)
        return (m - m.mean((1, 2), keepdim=True)) / 4
