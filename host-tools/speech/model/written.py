"""Judges what the program writes down of people who are held out of training: words wrong, and how probable its words are.

Run: python written.py files RECORDINGS FOLDER            the held-out speakers of people.py through the channel of judge.py
     cargo run --release -p jumpseat-speech --example transcripts -- FOLDER/*.wav > FOLDER/words.jsonl
     python written.py score FOLDER                       tables as Markdown, and the constants of src/calibration.rs
95 % intervals are over speakers drawn again and again (bootstrap), so few speakers give wide ones. The probability of a word is
fitted to every other file, and judged on the rest.
"""
import argparse
import difflib
import json
import pathlib

import numpy as np
import soundfile
from scipy.optimize import minimize
from scipy.signal import resample_poly

import judge
import people
from letters import CONDITIONS, edits, interval

SETS = {
    "readers": people.HELD_OUT_READERS.__contains__,
    "spelled": lambda s: s in people.HELD_OUT_SPELLERS or s.startswith(people.HELD_OUT_NEW_SPELLERS),
    "accented": lambda s: s.endswith(people.HELD_OUT_ACCENTED),
    "talkers": lambda s: s.endswith(people.HELD_OUT_TALKERS),
}


def utterances(recordings, name, most, of_each, longest=16):
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


def files(args):
    folder = pathlib.Path(args.folder)
    folder.mkdir(parents=True, exist_ok=True)
    truth = []
    for name in SETS:
        for k, (speaker, x, text) in enumerate(utterances(args.recordings, name, args.most, args.of_each)):
            for number, (condition, snr) in enumerate(CONDITIONS):
                file = f"{name}-{k:03d}-{condition}.wav"
                y = judge.channel(x, snr, np.random.default_rng([k, number]))
                soundfile.write(folder / file, np.clip(y, -1, 1), judge.RATE, subtype="PCM_16")
                truth.append(dict(file=file, set=name, condition=condition, speaker=speaker, text=text))
    (folder / "truth.json").write_text(json.dumps(truth, indent=0), encoding="utf-8")
    print(f"{len(truth)} files in {folder}")


def right_words(said, written):
    """For each word written down whether it was said there."""
    right = np.zeros(len(written), bool)
    for _, at, size in difflib.SequenceMatcher(None, said, written, autojunk=False).get_matching_blocks():
        right[at : at + size] = True
    return right


def odds(weights, figures):
    return weights[0] + figures @ np.array(weights[1:])


def fitted(figures, right):
    """Log-odds and the weights of the two figures, which are not below nought."""
    loss = lambda w: np.logaddexp(0, np.where(right, -1, 1) * odds(w, figures)).mean()
    return minimize(loss, [2.0, 1.0, 0.2], bounds=[(None, None), (0.0, None), (0.0, None)]).x


def score(args):
    folder, written = pathlib.Path(args.folder), {}
    for line in (folder / "words.jsonl").read_text(encoding="utf-8").splitlines():
        word = json.loads(line)
        written.setdefault(pathlib.Path(word["file"]).name, []).append(word)
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    rows, figures, right, odd = {}, [], [], []
    for number, t in enumerate(truth):
        words = written.get(t["file"], [])
        said, heard = t["text"].split(), [w["text"] for w in words]
        rows.setdefault((t["set"], t["condition"]), []).append((edits(said, heard), len(said), t["speaker"]))
        right += list(right_words(said, heard))
        figures += [(w["decoder"], w["letters"]) for w in words]
        odd += [number // len(CONDITIONS) % 2 == 1] * len(words)
    print("| people | condition | utterances | words wrong % (95 %) | utterances without a fault % |\n| --- | --- | --- | --- | --- |")
    for (name, condition), found in rows.items():
        wrong, of, speakers = zip(*found)
        low, high = interval(wrong, of, speakers, np.random.default_rng(1))
        print(f"| {name} | {condition} | {len(found)} | {100 * sum(wrong) / sum(of):.0f} ({low:.0f} to {high:.0f}) | {100 * np.mean(np.array(wrong) == 0):.0f} |")
    figures, right, odd = np.array(figures), np.array(right), np.array(odd)
    weights = fitted(figures[odd], right[odd])
    print("WORD_LOG_ODDS, WORD_DECODER_WEIGHT, WORD_LETTERS_WEIGHT:", np.round(weights, 2))
    p = 1 / (1 + np.exp(-odds(weights, figures[~odd])))
    print("\n| probability | words | said % |\n| --- | --- | --- |")
    for low in (0.0, 0.2, 0.4, 0.6, 0.8, 0.9):
        within = (p >= low) & (p < {0.8: 0.9, 0.9: 1.1}.get(low, low + 0.2))
        if within.any():
            print(f"| from {low} | {within.sum()} | {100 * right[~odd][within].mean():.0f} |")
    for threshold in (0.4, 0.5, 0.6, 0.7, 0.8):
        shown = p >= threshold
        print(f"from {threshold}: {100 * shown.mean():.0f} % of the words, of them not said {100 * (1 - right[~odd][shown].mean()):.1f} %")


def main():
    p = argparse.ArgumentParser(description=__doc__)
    commands = p.add_subparsers(required=True)
    make = commands.add_parser("files")
    make.add_argument("recordings")
    make.add_argument("folder")
    make.add_argument("--most", type=int, default=60, help="utterances of each set")
    make.add_argument("--of-each", type=int, default=25, help="utterances of one speaker")
    make.set_defaults(run=files)
    judged = commands.add_parser("score")
    judged.add_argument("folder")
    judged.set_defaults(run=score)
    args = p.parse_args()
    args.run(args)


if __name__ == "__main__":
    main()
