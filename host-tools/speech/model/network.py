"""The acoustic model: Whisper's encoder, changed for our front end, with two linear CTC outputs: words, and letters of open speech."""
import math

import numpy as np
import torch
import torch.nn as nn
import torch.nn.functional as F

import mel
import vocabulary

# Of the letters' output; there are two letter steps for every word step.
LETTERS = len(vocabulary.WRITABLE)

LAYERS, WIDTH, HEADS = 6, 512, 8  # Whisper base's
HALVED_AT = 1  # the layer before which the frame rate is halved


def positions(count, width):
    """Whisper's sinusoidal position table (count, width)."""
    rate = np.exp(-math.log(10000) / (width // 2 - 1) * np.arange(width // 2))
    angle = np.arange(count)[:, None] * rate[None]
    return torch.tensor(np.concatenate([np.sin(angle), np.cos(angle)], 1), dtype=torch.float32)


def coarse(weight, share, steps):
    """`share` of the way (0 to 1) from a matrix to one of few values: whole multiples, for each row, of its root mean square
    over `steps`. Such a matrix packs into log2(4.13 steps) bits a weight. The gradient passes as if nothing had happened."""
    step = weight.detach().float().pow(2).mean(1, keepdim=True).sqrt() / steps + 1e-9
    return weight + share * ((weight / step).round().clamp(-127, 127) * step - weight).detach()


class Linear(nn.Linear):
    """A linear layer whose matrix can be trained to be `coarse`."""

    def __init__(self, inputs, outputs, steps=5.0):
        super().__init__(inputs, outputs)
        self.steps = steps
        self.register_buffer("coarseness", torch.zeros(()), persistent=False)

    def forward(self, x):
        return F.linear(x, coarse(self.weight, self.coarseness, self.steps) if self.training else self.weight, self.bias)


class Block(nn.Module):
    """One transformer layer, layer norm first."""

    def __init__(self, width, heads):
        super().__init__()
        self.heads = heads
        self.norm1, self.norm2 = nn.LayerNorm(width), nn.LayerNorm(width)
        self.qkv, self.out = Linear(width, 3 * width), Linear(width, width)
        self.up, self.down = Linear(width, 4 * width), Linear(4 * width, width)

    def forward(self, x):
        b, t, width = x.shape
        q, k, v = self.qkv(self.norm1(x)).view(b, t, 3, self.heads, width // self.heads).permute(2, 0, 3, 1, 4)
        y = F.scaled_dot_product_attention(q, k, v)
        x = x + self.out(y.transpose(1, 2).reshape(b, t, width))
        return x + self.down(F.gelu(self.up(self.norm2(x))))


def copy_block(block, tensors, layer):
    """Whisper's layer number `layer` into the block."""
    p = f"layer_{layer}/"
    for norm, name in ((block.norm1, "self_attention/layer_norm"), (block.norm2, "ffn/layer_norm")):
        norm.weight.copy_(tensors[p + name + "/gamma"])
        norm.bias.copy_(tensors[p + name + "/beta"])
    for linear, name in ((block.qkv, "self_attention/linear_0"), (block.out, "self_attention/linear_1"), (block.up, "ffn/linear_0"), (block.down, "ffn/linear_1")):
        linear.weight.copy_(tensors[p + name + "/weight"])
        linear.bias.copy_(tensors[p + name + "/bias"])


class Network(nn.Module):
    """(B, BANDS, T) log mel at 100 frames a second -> scores before the softmax: of words (B, T / 4, outputs),
    and of letters (B, T / 2, LETTERS)."""

    def __init__(self, dropout=0.1):
        super().__init__()
        width = WIDTH
        self.conv1 = nn.Conv1d(mel.BANDS, width, 3, padding=1)
        self.conv2 = nn.Conv1d(width, width, 3, stride=2, padding=1)
        self.register_buffer("place", positions(640, width), persistent=False)
        self.blocks = nn.ModuleList(Block(width, HEADS) for _ in range(LAYERS))
        self.merge = Linear(2 * width, width)
        self.norm = nn.LayerNorm(width)
        self.head = nn.Linear(width, vocabulary.SIZE)
        self.letters = nn.Linear(width, 2 * LETTERS)
        self.dropout = nn.Dropout(dropout)

    def lower(self, x, blocks):
        """The part up to (not including) block number `blocks`."""
        x = F.gelu(self.conv2(F.gelu(self.conv1(x)))).transpose(1, 2)
        return self.run(x + self.place[: x.shape[1]], 0, blocks)

    def run(self, x, first, end):
        for k in range(first, end):
            if k == HALVED_AT:
                x = self.merge(x.reshape(x.shape[0], x.shape[1] // 2, 2 * WIDTH))
            x = self.blocks[k](self.dropout(x))
        return x

    def forward(self, x):
        return self.whole(x)[:2]

    def whole(self, x):
        """`forward`, and the last layer's output beside it."""
        h = self.norm(self.run(self.lower(x, 0), 0, len(self.blocks)))
        return self.head(h), self.letters(h).view(h.shape[0], 2 * h.shape[1], LETTERS), h

    def new_parameters(self):
        """Names of the parameters that do not come from Whisper: they learn faster."""
        return ("head.", "merge.", "letters.")

    @torch.no_grad()
    def start_from(self, tensors):
        """Copies Whisper's encoder in."""
        t = {name: torch.tensor(value) for name, value in tensors.items()}
        self.conv1.weight.copy_(t["conv1/weight"][:, : mel.BANDS])
        self.conv1.bias.copy_(t["conv1/bias"])
        self.conv2.weight.copy_(t["conv2/weight"])
        self.conv2.bias.copy_(t["conv2/bias"])
        self.norm.weight.copy_(t["layer_norm/gamma"])
        self.norm.bias.copy_(t["layer_norm/beta"])
        for k, block in enumerate(self.blocks):
            copy_block(block, t, k)
        half = torch.eye(WIDTH) / 2
        self.merge.weight.copy_(torch.cat([half, half], 1))
        self.merge.bias.zero_()
