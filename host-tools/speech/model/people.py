"""Real people's speech for training, from a folder of recordings with transcripts (MODEL.md says where each set comes from).

Run: python people.py gather RECORDINGS OUT.npz             recordings to one file, eight bits of mu-law
     python people.py align OUT.npz SPEECH.npz --weights FOLDER      finds each word's place with weights trained before;
                                                             without them the utterances stay whole
RECORDINGS holds spelled/, readers/, talkers/, accented/ and figures/, each with transcripts.tsv: file, speaker, text. talkers/ are
people of whom there are few utterances each; eight of them together count as one speaker.
"""
import argparse
import multiprocessing
import pathlib

import numpy as np
from scipy.signal import resample_poly

import bank
from vocabulary import OUTPUT, WRITABLE, output_of

# Never trained on; for judging. Of the figures every speaker whose name ends so.
HELD_OUT_SPELLERS = {"fclc", "fjdn", "fmjd", "fsaf2", "mblw", "mdcs2", "mfaa", "mjes", "mmsh", "mrcb"}
HELD_OUT_NEW_SPELLERS = "R_1"  # every speaker of the alphanumeric set whose name begins so
HELD_OUT_READERS = {"1284", "2961", "4446", "7127"}
HELD_OUT_FIGURES = ("7", "c")
HELD_OUT_ACCENTED = "7"  # every speaker whose name ends so
HELD_OUT_TALKERS = ("07", "47")  # likewise
LETTER_STEP = 160  # samples of a step of the letters' output: 50 a second
SEEN, LEAST_GAP = 10 * bank.RATE, 5  # samples in a window of the alignment; letter steps between words that may be parted
CODE = {c: k for k, c in enumerate(WRITABLE)}


def listed(folder, held_out):
    """[(path, speaker, text)] of one set's transcripts.tsv, the held-out speakers left out."""
    folder, out = pathlib.Path(folder), []
    for line in (folder / "transcripts.tsv").read_text(encoding="utf-8").splitlines():
        file, speaker, text = line.split("\t")
        if not held_out(speaker):
            out.append((folder / file, speaker, text.lower()))
    return out


def read(path):
    import soundfile

    x, rate = soundfile.read(path, dtype="float32", always_2d=True)
    x = resample_poly(x.mean(1), 8000, rate).astype(np.float32)
    if not x.any():
        return x[:0]
    first, end = bank.trim(x)
    return x[first:end]


def gather(recordings, out, processes):
    recordings, made, said, talkers = pathlib.Path(recordings), bank.Bank(), [], {}
    sets = {"reader": ("readers", HELD_OUT_READERS.__contains__), "talker": ("talkers", lambda s: s in HELD_OUT_READERS or s.endswith(HELD_OUT_TALKERS)), "accented": ("accented", lambda s: s.endswith(HELD_OUT_ACCENTED)), "speller": ("spelled", lambda s: s in HELD_OUT_SPELLERS or s.startswith(HELD_OUT_NEW_SPELLERS)), "figures": ("figures", lambda s: s.endswith(HELD_OUT_FIGURES))}
    for kind, (folder, held_out) in sets.items():
        if (recordings / folder / "transcripts.tsv").exists():
            said += [(kind, *r) for r in listed(recordings / folder, held_out)]
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        for (kind, _, speaker, text), x in zip(said, pool.imap(read, [path for _, path, _, _ in said], chunksize=16)):
            if len(x) > 800:
                if kind == "talker":
                    speaker = talkers.setdefault(speaker, len(talkers)) // 8
                made.add(x, [(0, len(x), 0, text)], f"{kind}-{speaker}")
    arrays = made.arrays()
    arrays["samples"] = bank.packed(arrays["samples"])
    np.savez_compressed(out, **arrays)
    print(f"{out}: {len(arrays['samples']) / 8000 / 3600:.2f} h, {len(arrays['utterances'])} utterances, {len(arrays['speakers'])} speakers")


def output_for(word):
    """The word output that a real person's word teaches: a single letter is its name, but for 'a' and 'i'."""
    return OUTPUT["letter-" + word] if len(word) == 1 and word not in "ai'" else output_of(word)


def best_path(scores, text):
    """The step of each character of `text` on the likeliest way through the letters' log-probabilities (steps, letters)."""
    code = np.array([CODE[c] for c in text])
    labels = np.zeros(2 * len(code) + 1, np.int64)
    labels[1::2] = code
    size = len(labels)
    skip = np.zeros(size, bool)
    skip[3::2] = code[1:] != code[:-1]
    alpha = np.full(size, -1e30)
    alpha[:2] = scores[0, labels[:2]]
    came = np.zeros((len(scores), size), np.int8)
    for t in range(1, len(scores)):
        one = np.concatenate([[-1e30], alpha[:-1]])
        two = np.where(skip, np.concatenate([[-1e30, -1e30], alpha[:-2]]), -1e30)
        ways = np.stack([alpha, one, two])
        came[t] = ways.argmax(0)
        alpha = ways.max(0) + scores[t, labels]
    at = size - 1 if alpha[-1] > alpha[-2] else size - 2
    path = np.empty(len(scores), np.int64)
    for t in range(len(scores) - 1, -1, -1):
        path[t] = at
        at -= int(came[t, at])
    steps = {}
    for t, p in enumerate(path):
        if p % 2 and (p not in steps or scores[t, labels[p]] > scores[steps[p], labels[p]]):
            steps[p] = t
    return [steps[2 * k + 1] for k in range(len(code))], alpha.max() / max(1, len(code))


def word_spans(job):
    """[(first, end, output, word)] in samples, or None where text and sound do not fit.

    Where two words may be parted, the first ends where the second begins, at the quietest step between them. Where they
    may not, the two overlap.
    """
    samples, scores, text = job
    words = text.split()
    if scores is None:
        return None
    if len(scores) < len(text) + 2:
        return None
    steps, fit = best_path(scores.astype(np.float64), text)
    if fit < -3.0:
        return None
    power = np.convolve(samples**2, np.ones(160) / 160, "same")
    spans, at, first = [], 0, 0
    for k, w in enumerate(words):
        at += len(w)
        if k + 1 == len(words):
            spans.append((first, len(samples), output_for(w), w))
            break
        last, next_one = steps[at - 1], steps[at + 1]
        at += 1
        if next_one - last >= LEAST_GAP:
            low, high = (last + 1) * LETTER_STEP, next_one * LETTER_STEP
            cut = low + int(power[low:high].argmin()) if high > low else low
            spans.append((first, cut, output_for(w), w))
            first = cut
        else:
            spans.append((first, (next_one + 4) * LETTER_STEP, output_for(w), w))
            first = max(0, (last - 3) * LETTER_STEP)
    return spans if all(b > a for a, b, _, _ in spans) else None


def unparted(size, words):
    """Spans of words whose places are not known: each begins before the one in front ends, so that none may be cut out."""
    return [(0 if k == 0 else size - 2, size, output_for(w), w) for k, w in enumerate(words)]


def reader(weights, device):
    """[samples] -> [log-probabilities of letters], by trained weights."""
    import mel
    from export import load

    net, front = load(weights)[0].to(device), mel.Mel(device)
    return lambda utterances: letters_of(net, front, utterances, device)


def letters_of(net, front, utterances, device, rows=64):
    """Log-probabilities of letters over utterances of any length, in windows of 10 s at most that overlap by 2; windows of
    about one length are heard together."""
    import torch

    step, windows = SEEN - 2 * bank.RATE, []
    for number, samples in enumerate(utterances):
        count = max(1, -(-max(0, len(samples) - SEEN) // step) + 1)
        windows += [(number, k, count, samples[k * step : k * step + SEEN]) for k in range(count)]
    order, found = sorted(range(len(windows)), key=lambda w: len(windows[w][3])), {}
    for at in range(0, len(order), rows):
        batch = [windows[w] for w in order[at : at + rows]]
        size = max(3200, max(len(part) for *_, part in batch) + 1279) // 1280 * 1280
        x = torch.from_numpy(np.stack([np.pad(part, (0, size - len(part))) for *_, part in batch])).to(device)
        with torch.no_grad():
            scores = net(front(x))[1].float().log_softmax(-1).cpu().numpy()
        for (number, k, count, part), row in zip(batch, scores):
            row = row[: max(20, -(-len(part) // 320) * 2)]
            found[number, k] = row[50 if k else 0 : len(row) - (50 if k + 1 < count else 0)]
    counts = [0] * len(utterances)
    for number, _ in found:
        counts[number] += 1
    return [np.concatenate([found[number, k] for k in range(count)]) for number, count in enumerate(counts)]


def align(gathered, weights, out, device, processes):
    whole, made = dict(np.load(gathered)), bank.Bank()
    samples, speakers = bank.unpacked(whole["samples"]), whole["speakers"]
    letters = reader(weights, device) if weights else None
    names, sounds, texts = [], [], [str(t) for t in whole["texts"]]
    for first, end, _, number in whole["words"]:
        sounds.append(samples[first:end].astype(np.float32) / 32768)
        names.append(str(speakers[whole["utterances"][number, 2]]))
    parted = [k for k, text in enumerate(texts) if letters and " " in text]
    scores = dict(zip(parted, letters([sounds[k] for k in parted]))) if letters else {}
    jobs = [(x, scores.get(k), text) for k, (x, text) in enumerate(zip(sounds, texts))]
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        found = pool.map(word_spans, jobs, chunksize=16)
    lost = 0
    for name, (x, _, text), spans in zip(names, jobs, found):
        if " " not in text:
            spans = [(0, len(x), output_for(text), text)]
        elif letters is None:
            spans = unparted(len(x), text.split())
        if spans is None:
            lost += 1
            continue
        made.add(x, spans, name)
    np.savez(out, **made.arrays())
    print(f"{out}: {made.at / 8000 / 3600:.2f} h, {len(made.words)} words, {lost} utterances do not fit their text", flush=True)


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("step", choices=["gather", "align"])
    p.add_argument("source")
    p.add_argument("out")
    p.add_argument("--weights", help="folder of weights trained before, to place the words with")
    p.add_argument("--device", default="cuda")
    p.add_argument("--processes", type=int, default=multiprocessing.cpu_count())
    args = p.parse_args()
    if args.step == "gather":
        gather(args.source, args.out, args.processes)
    else:
        align(args.source, args.weights, args.out, args.device, args.processes)


if __name__ == "__main__":
    main()
