"""Whisper's encoder as it is, as a teacher: it hears every window of real people clean and whole, while the network hears it
through the channel, and the network is drawn towards what the teacher makes of it. So it keeps what Whisper knows of people."""
import numpy as np
import torch
import torch.nn as nn
import torch.nn.functional as F

import mel
from network import Block, copy_block, positions

# What Whisper was trained on: windows of 30 s, mostly ending in silence. Its decoder does not end its texts without (64 words of a hundred
# wrong on 14 clean utterances instead of 17).
WINDOW = 30 * 8000
UPPER = 18  # bands above 4 kHz, in which our speech has nothing


class Teacher(nn.Module):
    """(B, samples at 8 kHz, 30 s at most) -> (B, 1500, width): 50 a second."""

    def __init__(self, tensors, device, heads):
        super().__init__()
        weights = {k: torch.tensor(v) for k, v in tensors.items()}
        self.width = len(weights["conv1/bias"])
        self.conv1 = nn.Conv1d(mel.BANDS + UPPER, self.width, 3, padding=1)
        self.conv2 = nn.Conv1d(self.width, self.width, 3, stride=2, padding=1)
        layers = len({k.split("/")[0] for k in weights if k.startswith("layer_") and k[6].isdigit()})
        self.blocks = nn.ModuleList(Block(self.width, heads) for _ in range(layers))
        self.norm = nn.LayerNorm(self.width)
        with torch.no_grad():
            for conv, name in ((self.conv1, "conv1"), (self.conv2, "conv2")):
                conv.weight.copy_(weights[name + "/weight"])
                conv.bias.copy_(weights[name + "/bias"])
            self.norm.weight.copy_(weights["layer_norm/gamma"])
            self.norm.bias.copy_(weights["layer_norm/beta"])
            for k, block in enumerate(self.blocks):
                copy_block(block, weights, k)
        self.register_buffer("place", positions(1500, self.width), persistent=False)
        self.register_buffer("middle", torch.zeros(self.width))
        self.register_buffer("spread", torch.ones(self.width))
        self.front = mel.Mel(device)
        self.requires_grad_(False).to(device).eval()

    def mel(self, x):
        """Whisper's own energies: at 16 kHz a frame has twice the samples, hence four times the power."""
        power = torch.stft(x, mel.SIZE, mel.HOP, window=self.front.window, return_complex=True)[..., :-1].abs() ** 2
        m = F.pad(torch.log10(4 * (self.front.filters @ power) + 1e-10), (0, 0, 0, UPPER), value=-10.0)
        return (torch.maximum(m, m.amax((1, 2), keepdim=True) - 8) + 4) / 4

    def encode(self, m):
        x = F.gelu(self.conv2(F.gelu(self.conv1(m)))).transpose(1, 2)
        x = x + self.place[: x.shape[1]]
        for block in self.blocks:
            x = block(x)
        return self.norm(x)

    @torch.no_grad()
    def measure(self, x):
        """Learns each dimension's mean and spread from windows of speech."""
        z = self.hears(x)[:, : x.shape[1] // (2 * mel.HOP)].float().flatten(0, 1)
        self.middle, self.spread = z.mean(0), z.std(0) + 1e-3

    @torch.no_grad()
    def hears(self, x):
        """What Whisper's decoder looks at: 30 s, with silence after the window."""
        return self.encode(self.mel(F.pad(x, (0, WINDOW - x.shape[1]))))

    @torch.no_grad()
    def evened(self, heard):
        """Each dimension of what was heard at unit spread."""
        return (heard - self.middle) / self.spread


class Likeness(nn.Module):
    """How far the network's last layer is from the teacher's: each of its steps stands for two of the teacher's."""

    def __init__(self, teacher):
        super().__init__()
        self.look = nn.Linear(teacher.width, 2 * teacher.width)
        with torch.no_grad():
            self.look.weight.copy_(torch.cat([torch.diag(1 / teacher.spread)] * 2))
            self.look.bias.copy_(torch.cat([-teacher.middle / teacher.spread] * 2))

    def forward(self, h, target):
        seen = self.look(h).view(len(h), 2 * h.shape[1], -1)
        return F.smooth_l1_loss(seen.float(), target[:, : seen.shape[1]].float())
