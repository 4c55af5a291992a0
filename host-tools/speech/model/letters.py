"""Judges the letters' output on people who are held out of training: how many words it gets wrong.

Run: python letters.py WEIGHTS_FOLDER RECORDINGS [--show N]
Reads the held-out speakers of people.py from RECORDINGS, sends each utterance through the channel of judge.py and writes
down the likeliest letters step by step, without any knowledge of words. Prints a table as Markdown; 95 % intervals are over
speakers drawn again and again (bootstrap), so few speakers give wide ones.
"""
import argparse
import pathlib

import numpy as np
import soundfile
import torch
from scipy.signal import resample_poly

import judge
import mel
import people
from export import load
from vocabulary import WRITABLE

CONDITIONS = [("clean", None), ("20", 20), ("12", 12), ("6", 6)]


def greedy(scores):
    """The text of the likeliest letter of each step."""
    out, before = [], 0
    for k in scores.argmax(1):
        if k != before and k:
            out.append(WRITABLE[k])
        before = k
    return " ".join("".join(out).split())


def edits(said, heard):
    """Words to change, add or leave out to make the one of the other."""
    row = list(range(len(heard) + 1))
    for i, a in enumerate(said, 1):
        before, row[0] = row[0], i
        for j, b in enumerate(heard, 1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + (a != b))
    return row[-1]


def interval(wrong, of, speakers, random):
    """95 % interval of sum(wrong) / sum(of) in per cent, speakers drawn again."""
    names = sorted(set(speakers))
    by = np.array([[sum(w for w, s in zip(wrong, speakers) if s == n), sum(o for o, s in zip(of, speakers) if s == n)] for n in names])
    drawn = by[random.integers(0, len(names), (1000, len(names)))].sum(1)
    return np.percentile(100 * drawn[:, 0] / drawn[:, 1], [2.5, 97.5])


def utterances(recordings, longest, most):
    """[(set, speaker, samples at judge.RATE, text)] of held-out people, `most` of each at most, none longer than `longest` s."""
    held = {"readers": people.HELD_OUT_READERS, "spelled": people.HELD_OUT_SPELLERS}
    out = []
    for name, speakers in held.items():
        for path, speaker, text in people.listed(pathlib.Path(recordings) / name, lambda s, k=speakers: s not in k):
            x, rate = soundfile.read(path, always_2d=True)
            if len(x) < longest * rate and sum(s == speaker for _, s, _, _ in out) < most:
                out.append((name, speaker, resample_poly(x.mean(1), judge.RATE, rate), text))
    return out


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("weights")
    p.add_argument("recordings")
    p.add_argument("--longest", type=float, default=16)
    p.add_argument("--most", type=int, default=40, help="utterances of one speaker")
    p.add_argument("--device", default="cpu")
    p.add_argument("--show", type=int, default=0, help="print so many utterances of each set and condition")
    p.add_argument("--keep", help="file for the letters' scores of all, to try decoders on")
    args = p.parse_args()
    net, front = load(args.weights)[0].to(args.device), mel.Mel(args.device)
    said, kept = utterances(args.recordings, args.longest, args.most), {}
    print("| people | condition | utterances | words wrong % (95 %) | utterances without a fault % |\n| --- | --- | --- | --- | --- |")
    for name in sorted({s[0] for s in said}):
        group = [s for s in said if s[0] == name]
        for number, (condition, snr) in enumerate(CONDITIONS):
            wrong, of, shown = [], [], 0
            for k, (_, speaker, x, text) in enumerate(group):
                y = judge.channel(x, snr, np.random.default_rng([k, number]))
                scores = people.letters_of(net, front, resample_poly(y, 1, 2).astype(np.float32), args.device)
                heard = greedy(scores)
                wrong.append(edits(text.split(), heard.split()))
                of.append(len(text.split()))
                kept[f"{name}|{condition}|{k}|{text}"] = scores.astype(np.float16)
                if shown < args.show:
                    print(f"<!-- {text} | {heard} -->")
                    shown += 1
            low, high = interval(wrong, of, [s[1] for s in group], np.random.default_rng(1))
            print(f"| {name} | {condition} | {len(group)} | {100 * sum(wrong) / sum(of):.0f} ({low:.0f} to {high:.0f}) | {100 * np.mean(np.array(wrong) == 0):.0f} |", flush=True)
    if args.keep:
        np.savez_compressed(args.keep, **kept)


if __name__ == "__main__":
    main()
