"""Judges the text decoder on people who are held out of training: how many words it gets wrong.

Run: python written.py WEIGHTS_FOLDER RECORDINGS [--show N]
Reads the held-out speakers of people.py from RECORDINGS, sends each utterance of at most 11.5 s through the channel of judge.py
and writes down the likeliest piece after the likeliest, the matrices coarse as the program has them. Prints a table as Markdown;
95 % intervals are over speakers drawn again and again (bootstrap), so few speakers give wide ones.
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
from decoder import Listener, written
from export import load
from letters import CONDITIONS, edits, interval
from pieces import Pieces

SETS = {
    "readers": people.HELD_OUT_READERS.__contains__,
    "spelled": lambda s: s in people.HELD_OUT_SPELLERS or s.startswith(people.HELD_OUT_NEW_SPELLERS),
    "accented": lambda s: s.endswith(people.HELD_OUT_ACCENTED),
    "talkers": lambda s: s.endswith(people.HELD_OUT_TALKERS),
}


def utterances(recordings, name, most, of_each, longest=11.5):
    """[(speaker, samples at judge.RATE, text)] of held-out people: `most` in all, evenly from the list, `of_each` of one person."""
    said, count = people.listed(pathlib.Path(recordings) / name, lambda s: not SETS[name](s)), {}
    out = []
    for path, speaker, text in said:
        info = soundfile.info(path)
        if info.frames < longest * info.samplerate and count.get(speaker, 0) < of_each:
            count[speaker] = count.get(speaker, 0) + 1
            out.append((path, speaker, text))
    out = [out[k] for k in np.linspace(0, len(out) - 1, min(most, len(out))).astype(int)]
    sound = lambda path: (lambda x, rate: resample_poly(x.mean(1), judge.RATE, rate))(*soundfile.read(path, always_2d=True))
    return [(speaker, sound(path), text) for path, speaker, text in out]


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("weights")
    p.add_argument("recordings")
    p.add_argument("--most", type=int, default=60, help="utterances of each set")
    p.add_argument("--of-each", type=int, default=25, help="utterances of one speaker")
    p.add_argument("--sets", default=",".join(SETS))
    p.add_argument("--device", default="cpu")
    p.add_argument("--show", type=int, default=0, help="print so many utterances of each set and condition")
    args = p.parse_args()
    whole, front, pieces = Listener(*load(args.weights)).to(args.device).eval(), mel.Mel(args.device), Pieces()
    whole.round()
    print("| people | condition | utterances | words wrong % (95 %) | utterances without a fault % |\n| --- | --- | --- | --- | --- |")
    for name in args.sets.split(","):
        group = utterances(args.recordings, name, args.most, args.of_each)
        for number, (condition, snr) in enumerate(CONDITIONS):
            wrong, of = [], []
            for k, (_, x, text) in enumerate(group):
                y = resample_poly(judge.channel(x, snr, np.random.default_rng([k, number])), 1, 2).astype(np.float32)
                y = np.pad(y, (0, -len(y) % 320))
                with torch.no_grad():
                    heard = whole.net.whole(front(torch.tensor(y, device=args.device)[None]))[2]
                    text_heard = pieces.decode(written(whole.decoder, heard, len(y) // 900 + 12)[0])
                wrong.append(edits(text.split(), text_heard.split()))
                of.append(len(text.split()))
                if k < args.show:
                    print(f"<!-- {text} | {text_heard} -->")
            low, high = interval(wrong, of, [s[0] for s in group], np.random.default_rng(1))
            print(f"| {name} | {condition} | {len(group)} | {100 * sum(wrong) / sum(of):.0f} ({low:.0f} to {high:.0f}) | {100 * np.mean(np.array(wrong) == 0):.0f} |", flush=True)


if __name__ == "__main__":
    main()
