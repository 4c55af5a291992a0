"""Builds a set in which nobody says a call sign, to count the signs that are heard all the same: held-out people who read and
talk, each minute in a channel of its own, and recordings off the air as they are. hear_bench reads it like the set of judge.py.

Run: python judge_talk.py RECORDINGS FOLDER [--many FOLDER] [--airband FOLDER] [--minutes N]
RECORDINGS as people.py reads it; spellers and figures are left out, because what they say has the form of signs. MANY: further
speech without transcripts of people who are held out.
"""
import argparse
import json
import pathlib

import numpy as np
import soundfile
from scipy.signal import resample_poly

import judge
import people

SETS = {
    "readers": people.HELD_OUT_READERS.__contains__,
    "accented": lambda s: s.endswith(people.HELD_OUT_ACCENTED),
    "talkers": lambda s: s.endswith(people.HELD_OUT_TALKERS),
}
CONDITIONS = [("clean", None), ("20", 20), ("12", 12)]
MINUTE = 60 * judge.RATE


def sound(path):
    x, rate = soundfile.read(path, always_2d=True)
    return resample_poly(x.mean(1), judge.RATE, rate)


def minutes(paths, rng):
    """The recordings one after the other with short pauses, cut into minutes."""
    held = np.zeros(0)
    for path in paths:
        x = sound(path)
        if not x.any():
            continue
        held = np.concatenate([held, x / np.sqrt(np.mean(x**2)) * 0.1, np.zeros(int(rng.uniform(0.2, 1.2) * judge.RATE))])
        while len(held) >= MINUTE:
            yield held[:MINUTE]
            held = held[MINUTE:]
    if len(held) > MINUTE // 4:
        yield held


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("recordings", type=pathlib.Path)
    p.add_argument("folder", type=pathlib.Path)
    p.add_argument("--many", type=pathlib.Path)
    p.add_argument("--airband", type=pathlib.Path)
    p.add_argument("--minutes", type=int, default=60, help="of each kind of people at most")
    args = p.parse_args()
    (args.folder / "wav").mkdir(parents=True, exist_ok=True)
    out, hours = [], {}

    def write(name, y, condition):
        soundfile.write(args.folder / "wav" / f"{name}.wav", np.clip(y, -1, 1), judge.RATE, subtype="PCM_16")
        out.append(dict(file=f"wav/{name}.wav", family="talk", condition=condition, kind="none", sign=None))
        hours[condition] = hours.get(condition, 0) + len(y) / judge.RATE / 3600

    kinds = {name: [path for path, _, _ in people.listed(args.recordings / name, lambda s, wanted=wanted: not wanted(s))] for name, wanted in SETS.items()}
    if args.many:
        kinds["many"] = sorted(args.many.rglob("*.opus"))
    for name, paths in kinds.items():
        for k, x in zip(range(args.minutes), minutes(paths, np.random.default_rng(3))):
            for number, (condition, snr) in enumerate(CONDITIONS):
                write(f"{name}-{k:03d}-{condition}", judge.channel(x, snr, np.random.default_rng([k, number])), f"{name} {condition}")
    for path in sorted(args.airband.iterdir()) if args.airband else []:
        if path.suffix in (".opus", ".ogg", ".wav", ".flac"):
            write(f"airband-{path.stem}", sound(path), "airband")
    (args.folder / "set.json").write_text(json.dumps(out, indent=0), encoding="utf-8")
    print(f"{len(out)} files in {args.folder}; hours: " + ", ".join(f"{name} {h:.2f}" for name, h in hours.items()))


if __name__ == "__main__":
    main()
