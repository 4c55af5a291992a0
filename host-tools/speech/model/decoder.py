"""The text decoder: some layers of Whisper base's own, with its table cut to `pieces.tsv`. It reads what the encoder heard."""
import torch
import torch.nn as nn
import torch.nn.functional as F

from network import HEADS, WIDTH, Linear, coarse
from pieces import END, PROMPT

LONGEST = 112  # pieces of a text, the prompt and the end included
WHISPER_LAYERS = 6
LAYERS = [0, 1, 2, 4, 5]  # the others lose most; measured before any training
TAUGHT = 0.4
STEPS = 3.3  # see network.coarse


class DecoderBlock(nn.Module):
    """One layer: what was written so far, what was heard, feed-forward; layer norm first."""

    def __init__(self, width, heads):
        super().__init__()
        self.heads = heads
        self.norm1, self.norm2, self.norm3 = nn.LayerNorm(width), nn.LayerNorm(width), nn.LayerNorm(width)
        self.qkv, self.out = Linear(width, 3 * width, STEPS), Linear(width, width, STEPS)
        self.ask, self.heard, self.told = Linear(width, width, STEPS), Linear(width, 2 * width, STEPS), Linear(width, width, STEPS)
        self.up, self.down = Linear(width, 4 * width, STEPS), Linear(4 * width, width, STEPS)

    def split(self, x):
        b, t, width = x.shape
        return x.view(b, t, -1, self.heads, WIDTH // HEADS).permute(2, 0, 3, 1, 4)

    def looked_at(self, memory):
        """Keys and values (2, B, heads, T, width / heads) of what was heard."""
        return self.split(self.heard(memory))

    def forward(self, x, looked_at):
        b, t, width = x.shape
        q, k, v = self.split(self.qkv(self.norm1(x)))
        y = F.scaled_dot_product_attention(q, k, v, is_causal=True)
        x = x + self.out(y.transpose(1, 2).reshape(b, t, width))
        k, v = looked_at
        y = F.scaled_dot_product_attention(self.split(self.ask(self.norm2(x)))[0], k, v)
        x = x + self.told(y.transpose(1, 2).reshape(b, t, width))
        return x + self.down(F.gelu(self.up(self.norm3(x))))


class TextDecoder(nn.Module):
    """(pieces (B, n), what was heard (B, T, width)) -> scores of the next piece (B, n, pieces)."""

    def __init__(self, layers, pieces, width=WIDTH, heads=HEADS):
        super().__init__()
        self.layers, self.steps = layers, STEPS
        self.table = nn.Parameter(torch.zeros(pieces, width))
        self.place = nn.Parameter(torch.zeros(LONGEST, width))
        self.register_buffer("coarseness", torch.zeros(()), persistent=False)
        self.blocks = nn.ModuleList(DecoderBlock(width, heads) for _ in layers)
        self.norm = nn.LayerNorm(width)

    def forward(self, pieces, memory):
        return self.scores(pieces, [block.looked_at(memory) for block in self.blocks])

    def scores(self, pieces, looked_at):
        """`forward` with what each block looks at, which is the same for every piece."""
        table = coarse(self.table, self.coarseness, STEPS) if self.training else self.table
        x = F.embedding(pieces, table) + self.place[: pieces.shape[1]]
        for block, seen in zip(self.blocks, looked_at):
            x = block(x, seen)
        return F.linear(self.norm(x), table)

    @torch.no_grad()
    def start_from(self, tensors, sources):
        """Copies Whisper's decoder in (names without 'decoder/'); `sources`: the row in Whisper's table of each piece."""
        t = {name: torch.tensor(value).float() for name, value in tensors.items()}
        self.table.copy_(t["embeddings/weight"][sources] if len(t["embeddings/weight"]) > len(sources) else t["embeddings/weight"])
        self.place.copy_(t["position_encodings/encodings"][:LONGEST])
        self.norm.weight.copy_(t["layer_norm/gamma"])
        self.norm.bias.copy_(t["layer_norm/beta"])
        for block, k in zip(self.blocks, self.layers):
            p = f"layer_{k}/"
            for norm, name in ((block.norm1, "self_attention"), (block.norm2, "attention"), (block.norm3, "ffn")):
                norm.weight.copy_(t[f"{p}{name}/layer_norm/gamma"])
                norm.bias.copy_(t[f"{p}{name}/layer_norm/beta"])
            for linear, name in ((block.qkv, "self_attention/linear_0"), (block.out, "self_attention/linear_1"), (block.ask, "attention/linear_0"), (block.heard, "attention/linear_1"), (block.told, "attention/linear_2"), (block.up, "ffn/linear_0"), (block.down, "ffn/linear_1")):
                linear.weight.copy_(t[f"{p}{name}/weight"])
                linear.bias.copy_(t[f"{p}{name}/bias"])


class Listener(nn.Module):
    """Encoder and decoder together, as they are trained."""

    def __init__(self, net, decoder):
        super().__init__()
        self.net, self.decoder = net, decoder

    def forward(self, m, pieces, targets, taught=None):
        """Scores of words and letters, what was heard, and the mean loss of the text (targets below 0 do not count).
        `taught`: what a teacher holds for the next piece (B, n, pieces); it counts `TAUGHT`, the text itself the rest."""
        words, letters, h = self.net.whole(m)
        scores = self.decoder(pieces, h).float().log_softmax(-1)
        loss = F.nll_loss(scores.flatten(0, 1), targets.flatten(), ignore_index=-100)
        if taught is not None:
            counts = (targets >= 0).float()
            loss = (1 - TAUGHT) * loss - TAUGHT * ((taught.float() * scores).sum(-1) * counts).sum() / (counts.sum() + 1)
        return words, letters, h, loss

    @torch.no_grad()
    def round(self):
        """Makes the matrices coarse for good."""
        for module in self.modules():
            if isinstance(module, Linear):
                module.weight.copy_(coarse(module.weight, 1.0, module.steps))
        self.decoder.table.copy_(coarse(self.decoder.table, 1.0, STEPS))

    def set_coarseness(self, share):
        for module in self.modules():
            if "coarseness" in module._buffers:
                module.coarseness.fill_(share)


def written(decoder, memory, longest):
    """[(pieces, mean log-probability of a piece)] of the likeliest piece after the likeliest; None where it does not end."""
    rows = torch.tensor([PROMPT] * len(memory), device=memory.device)
    looked_at = [block.looked_at(memory) for block in decoder.blocks]
    ended = torch.zeros(len(memory), dtype=torch.bool, device=memory.device)
    sure = torch.zeros(len(memory), device=memory.device)
    while rows.shape[1] < longest and not ended.all():
        best = decoder.scores(rows, looked_at)[:, -1].float().log_softmax(-1).max(-1)
        sure += torch.where(ended, 0, best.values)
        rows = torch.cat([rows, torch.where(ended, END, best.indices)[:, None]], 1)
        ended |= best.indices == END
    texts = [[p for p in r[len(PROMPT) :] if p != END] for r in rows.tolist()]
    return [(t, float(s) / (len(t) + 1)) if e else None for t, s, e in zip(texts, sure, ended)]
