"""Writes down what is said in recordings that nobody wrote down, with Whisper as it is, and keeps what it is sure of.

Run: python label.py GATHERED.npz OUT.npz --encoder ENCODER.npz --decoder DECODER.npz
GATHERED as people.py makes it; utterances with a text keep it. Where the mean probability of a piece is below --least, where the
text goes round, or where it does not end, the utterance is left out.
"""
import argparse
import collections

import numpy as np
import torch

import bank
import whisper_weights
from decoder import WHISPER_LAYERS, TextDecoder, written
from network import HEADS
from pieces import PROMPT, Pieces
from teacher import Teacher

LONGEST_S = 12  # of an utterance; longer ones are left out


def goes_round(text):
    """Whether three words in a row come three times."""
    words = text.split()
    count = collections.Counter(zip(words, words[1:], words[2:]))
    return bool(count) and max(count.values()) > 2


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("gathered")
    p.add_argument("out")
    p.add_argument("--encoder", required=True)
    p.add_argument("--decoder", required=True)
    p.add_argument("--device", default="cuda")
    p.add_argument("--least", type=float, default=0.72)
    p.add_argument("--rows", type=int, default=512)
    args = p.parse_args()
    whole, pieces = dict(np.load(args.gathered)), Pieces()
    samples, texts, words = bank.unpacked(whole["samples"]), [str(t) for t in whole["texts"]], whole["words"]
    teacher = Teacher(whisper_weights.load_any(args.encoder), args.device, HEADS)
    decoder = TextDecoder(range(WHISPER_LAYERS), len(pieces.text)).requires_grad_(False).to(args.device).eval()
    decoder.start_from(whisper_weights.load_any(args.decoder), pieces.source)
    unknown = [k for k, t in enumerate(texts) if not t and words[k, 1] - words[k, 0] <= LONGEST_S * bank.RATE]
    unknown.sort(key=lambda k: words[k, 1] - words[k, 0])
    kept = {k: t for k, t in enumerate(texts) if t}
    for at in range(0, len(unknown), args.rows):
        batch = unknown[at : at + args.rows]
        size = max(words[k, 1] - words[k, 0] for k in batch) + bank.RATE // 2
        x = torch.zeros(len(batch), int(size) // 320 * 320, device=args.device)
        for row, k in zip(x, batch):
            part = torch.from_numpy(samples[words[k, 0] : words[k, 1]].astype(np.float32) / 32768).to(args.device)[: len(row)]
            row[: len(part)] = part
        with torch.no_grad(), torch.autocast(args.device, dtype=torch.bfloat16):
            found = written(decoder, teacher.hears(x), len(PROMPT) + 90)
        for k, row in zip(batch, found):
            text = pieces.decode(row[0]) if row else ""
            if row and row[1] > np.log(args.least) and len(text) > 3 and not goes_round(text):
                kept[k] = text
    made = bank.Bank()
    for k in sorted(kept):
        first, end, _, number = words[k]
        x = samples[first:end].astype(np.float32) / 32768
        made.add(x, [(0, len(x), 0, kept[k])], str(whole["speakers"][whole["utterances"][number, 2]]))
    np.savez(args.out, **made.arrays())
    new = [k for k in kept if not texts[k]]
    print(f"{args.out}: {len(new)} of {len(unknown)} written down, {sum(words[k, 1] - words[k, 0] for k in new) / bank.RATE / 3600:.2f} h of them, {made.at / bank.RATE / 3600:.2f} h in all", flush=True)
    for k in new[:: max(1, len(new) // 12)]:
        print("  ", kept[k])


if __name__ == "__main__":
    main()
