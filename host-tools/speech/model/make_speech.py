"""Makes the training speech: espeak-ng on the processor cores, recorded and festival words from folders, Kokoro on the GPU
(from phonemes that the part `items` makes beforehand, where the texts are).

Each part is written as NAME.npz into the cache folder and is not made again while it is there.
"""
import argparse
import json
import lzma
import math
import multiprocessing
import pathlib
import pickle
import random
import re
import time

import numpy as np
from scipy.signal import resample_poly

import bank
import texts
from vocabulary import TOKENS

HELD_OUT_STYLES = {"am_michael", "bf_emma", "af_sky", "im_nicola"}  # never trained on; for judging
WHISPERED = {"af_nicole"}
WRITTEN = {k + 1: token.spoken[0] for k, token in enumerate(TOKENS)}


def espeak_part(job):
    """One process's share: phrases and single words of random espeak-ng voices."""
    import espeak

    seed, phrases, speakers = job  # phrases: what to say, or how many to draw
    rng, engine, out = random.Random(seed), espeak.Espeak(), bank.Bank()

    def say(phrase, voice, speaker):
        engine.voice(voice[0])
        text, starts, said = "", [], phrase
        phrase = [(espeak.respelt(w, rng), o) for w, o in phrase]
        pause = rng.choice([" ", " ", " ", ", ", ". "])
        for k, (w, _) in enumerate(phrase):
            starts.append(len(text))
            text += w + (pause if k + 1 < len(phrase) else "")
        samples, events = engine.speak(text, *voice[1:])
        if len(samples) < espeak.RATE // 8:
            return
        x = resample_poly(samples.astype(np.float32) / 32768, 160, 441).astype(np.float32)
        first, end = bank.trim(x)
        times = {}
        for at, sample in events:
            times.setdefault(at, sample * 8000 / espeak.RATE)
        if any(s not in times for s in starts):
            return
        edges = [times[s] - 240 for s in starts] + [end + 240]
        edges[0] = first
        words = [(edges[k] - first, edges[k + 1] - first, o, w) for k, (w, o) in enumerate(said)]
        if all(b - a > 300 for a, b, _, _ in words):
            out.add(x[first:end], words, speaker)

    for number, voice in enumerate(espeak.voices(rng, speakers)):
        for w in texts.single_words(rng, 80):
            say([w], voice, f"espeak-{seed}-{number}")
    phrases = [texts.phrase(rng) for _ in range(phrases)] if isinstance(phrases, int) else phrases
    for phrase, voice in zip(phrases, espeak.voices(rng, len(phrases))):
        say(phrase, voice, "espeak")
    return out.arrays()


def recorded_part(args):
    """Real people's single words, and the festival utterances."""
    import soundfile

    import recorded

    out = bank.Bank()

    def read(path):
        x, rate = soundfile.read(path, dtype="float32", always_2d=True)
        return resample_poly(x.mean(1), 8000, rate).astype(np.float32)

    for path, speaker, output in recorded.words(args.digits, args.asterisk_fr, args.klettres):
        x = read(path)
        first, end = bank.trim(x)
        out.add(x[first:end], [(0, end - first, output, WRITTEN[output])], speaker)
    if args.pico:
        pico_words(out, args.pico)
    if args.festival:
        folder = pathlib.Path(args.festival)
        for item in json.loads((folder / "index.json").read_text(encoding="utf-8")):
            x = read(folder / item["file"])
            words = [(a * 8000 - 160, b * 8000 + 160, o, w) for a, b, o, w in item["words"]]
            out.add(x, words, "festival-" + item["speaker"])
    return out.arrays()


def pico_words(out, speakers):
    """Single words of SVOX Pico's American and British voice (PyPI py-nanotts), at other pitches and speeds."""
    import espeak
    import py_nanotts

    rng, engine = random.Random(11), py_nanotts.NanoTTS()
    for number in range(speakers):
        voice, pitch, speed = ("en-US", "en-GB")[number % 2], rng.uniform(0.75, 1.3), rng.uniform(0.8, 1.2)
        for w, output in texts.single_words(rng, 80):
            raw = np.frombuffer(engine.speak(espeak.respelt(w, rng), voice=voice, speed=speed, pitch=pitch), np.int16)
            x = resample_poly(raw.astype(np.float32) / 32768, 1, 2).astype(np.float32)
            first, end = bank.trim(x)
            if end - first > 400:
                out.add(x[first:end], [(0, end - first, output, w)], f"pico-{number}")


def said_part(job):
    """One process's share of general speech: sentences by SVOX Pico's two voices, whole, without the places of words."""
    import py_nanotts

    import people

    seed, sentences = job
    rng, engine, out = random.Random(seed), py_nanotts.NanoTTS(), bank.Bank()
    for text in sentences:
        voice, pitch, speed = rng.choice(("en-US", "en-GB")), rng.uniform(0.75, 1.35), rng.uniform(0.8, 1.25)
        raw = np.frombuffer(engine.speak(text, voice=voice, speed=speed, pitch=pitch), np.int16)
        x = resample_poly(raw.astype(np.float32) / 32768, 1, 2).astype(np.float32)
        first, end = bank.trim(x)
        if 400 < end - first < 11 * bank.RATE:
            out.add(x[first:end], people.unparted(end - first, text.split()), f"said-{rng.randrange(40)}")
    return out.arrays()


def spoken_items(args):
    """What is to be said, in a random order. kokoro: [(ids, word spans, [(output, word)], speaker, style mixture, speed)];
    espeak: [phrase]; said: [text]."""
    import espeak
    import open_texts
    import phonemes

    rng, table = random.Random(args.seed), phonemes.Phonemes(args.symbols, espeak.Espeak())
    names = [f.stem for f in sorted(pathlib.Path(args.styles).glob("*.npy")) if f.stem not in HELD_OUT_STYLES | WHISPERED]
    talk, items = open_texts.Open(rng), []

    def mixture():
        """(two styles and the second one's weight, style of the delivery, manner): a speaker who is nobody in the list."""
        a, b, c = rng.sample(names, 3)
        manner = (math.exp(rng.gauss(0, 0.12)), rng.uniform(0.5, 1.5), rng.choice([0.0, 0.1, 0.2, 0.3]))
        return a, b, rng.choice([0.0, 0.3, 0.5, rng.random(), rng.uniform(-0.4, 1.4)]), rng.choice([a, a, c]), manner

    def add(phrase, speaker, style, speed):
        ids, spans = table.phrase([w for w, _ in phrase], rng)
        if 2 < len(ids) < 170:
            items.append((ids, spans, [(o, w) for w, o in phrase], speaker, style, speed))

    for number in range(args.speakers):
        style, speed = mixture(), rng.uniform(0.85, 1.25)
        for w in texts.single_words(rng, 60):
            add([w], f"kokoro-{args.seed}-{number}", style, speed)
    for _ in range(args.phrases):
        add(talk.phrase(), "kokoro", mixture(), rng.choice([0.75, 0.85, 0.9, 1, 1, 1.1, 1.2, 1.35, 1.5]))
    rng.shuffle(items)
    said = [" ".join(w for w, _ in make()) for make in rng.choices((talk.sentence, talk.named, talk.placed, talk.talk), (0.56, 0.2, 0.06, 0.18), k=args.phrases // 3)]
    said = [text for text in said if re.fullmatch("[a-z' ]+", text) and not re.search(r"\b[b-hj-z]\b", text)]  # nothing spelled
    return {"kokoro": items, "espeak": [talk.phrase() for _ in range(args.phrases // 3)], "said": said}


def batched(items, symbols, rng):
    """Places of the items in batches of about equal length. Single words first, since phrases are put together from each
    speaker's: whoever has only half of them is of little use."""
    out = []
    for alone in (True, False):
        order = sorted((k for k, item in enumerate(items) if (len(item[1]) == 1) == alone), key=lambda k: len(items[k][0]))
        batches, k = [], 0
        while k < len(order):
            size = max(1, min(symbols // (len(items[order[k]][0]) + 12), 256))
            batches.append(order[k : k + size])
            k += size
        rng.shuffle(batches)
        out += batches
    return out


def read_items(path):
    return pickle.loads(lzma.decompress(pathlib.Path(path).read_bytes()))


def kokoro_part(args, seed, device, seconds):
    """Speech of Kokoro until the texts or the seconds run out."""
    import torch

    import kokoro

    torch.manual_seed(seed)
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    files = sorted(pathlib.Path(args.styles).glob("*.npy"))
    styles = {f.stem: torch.tensor(np.load(f).astype(np.float32), device=device) for f in files if f.stem not in HELD_OUT_STYLES | WHISPERED}
    items = read_items(args.items)["kokoro"]
    items = items[(seed - 1) % args.shares :: args.shares]
    batches = batched(items, args.symbols_a_batch, random.Random(seed))
    net = kokoro.Kokoro(args.kokoro_code, args.kokoro_model).to(device)
    low = torch.tensor(firwin_8k(), dtype=torch.float32, device=device)[None, None]
    out, start = bank.Bank(), time.time()
    for number, batch in enumerate(batches):
        if time.time() - start > seconds:
            break
        rows = [items[j] for j in batch]
        length = torch.tensor([len(r[0]) + 2 for r in rows])
        ids = torch.zeros(len(rows), int(length.max()), dtype=torch.long)
        for j, r in enumerate(rows):
            ids[j, 1 : 1 + len(r[0])] = torch.tensor(r[0])
        timbre = torch.stack([(1 - w) * styles[a][len(r[0])] + w * styles[b][len(r[0])] for r in rows for a, b, w, _, _ in [r[4]]])
        delivery = torch.stack([styles[r[4][3]][len(r[0])] for r in rows])
        style = torch.cat([timbre[:, :128], delivery[:, 128:]], 1)
        manner = torch.tensor([r[4][4] for r in rows], dtype=torch.float32, device=device)
        speed = torch.tensor([r[5] for r in rows], device=device)
        audio, frames = net.speak(ids.to(device), length.to(device), style, speed, manner)
        audio = torch.nn.functional.conv1d(audio[:, None], low, stride=3, padding=low.shape[2] // 2)[:, 0].cpu().numpy()
        ends = np.concatenate([np.zeros((len(rows), 1), np.int64), frames.cumsum(1).cpu().numpy()], 1) * (kokoro.FRAME // 3)
        for j, (_, spans, outputs, speaker, _, _) in enumerate(rows):
            x = audio[j, : ends[j, len(rows[j][0]) + 2]]
            edges = [(ends[j, a + 1], ends[j, b + 1]) for a, b in spans]
            first, last = max(0, edges[0][0] - 240), min(len(x), edges[-1][1] + 320)
            words = []
            for k in range(len(edges)):  # a pause between two words is shared: 60 ms at most to each side
                a = first if k == 0 else max(edges[k][0] - 480, (edges[k][0] + edges[k - 1][1]) // 2)
                b = last if k + 1 == len(edges) else min(edges[k][1] + 480, (edges[k][1] + edges[k + 1][0]) // 2)
                words.append((a - first, b - first, *outputs[k]))
            if np.isfinite(x).all() and len(x) > 400:
                out.add(x[first:last], words, speaker)
        if number % 50 == 0:
            print(f"kokoro {seed}: {number} of {len(batches)} batches, {out.at / 8000 / 3600:.2f} h in {time.time() - start:.0f} s", flush=True)
    return out.arrays()


def firwin_8k():
    from scipy.signal import firwin

    return firwin(97, 3800, fs=24000)


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("part", choices=["espeak", "said", "recorded", "items", "kokoro"])
    p.add_argument("--cache", default="target/hear-cache")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--phrases", type=int, default=40000)
    p.add_argument("--speakers", type=int, default=300)
    p.add_argument("--processes", type=int, default=multiprocessing.cpu_count())
    p.add_argument("--seconds", type=float, default=1e9)
    p.add_argument("--device", default="cuda")
    p.add_argument("--pico", type=int, default=0, help="speakers made of the two voices of Pico, among the recorded ones")
    p.add_argument("--symbols-a-batch", type=int, default=9000)
    p.add_argument("--shares", type=int, default=1, help="processes that share the items; seed 1 takes the first share, and so on")
    for name in ("digits", "asterisk-fr", "klettres", "festival", "styles", "symbols", "kokoro-code", "kokoro-model", "items"):
        p.add_argument(f"--{name}")
    args = p.parse_args()
    name = {"recorded": "recorded.npz", "items": "items.xz"}.get(args.part, f"{args.part}-{args.seed}.npz")
    target = pathlib.Path(args.cache) / name
    target.parent.mkdir(parents=True, exist_ok=True)
    if target.exists():
        print(f"{target} is there already")
        return
    start = time.time()
    if args.part == "items":
        items = spoken_items(args)
        target.write_bytes(lzma.compress(pickle.dumps(items, protocol=4), preset=1))
        print(f"{target}: {len(items['kokoro'])} and {len(items['espeak'])} utterances to be said, {time.time() - start:.0f} s")
        return
    if args.part == "espeak":
        n = args.processes
        phrases = read_items(args.items)["espeak"] if args.items else None
        shares = [phrases[k::n][: args.phrases // n] for k in range(n)] if phrases else [args.phrases // n] * n
        with multiprocessing.get_context("spawn").Pool(n) as pool:
            made = bank.join(pool.map(espeak_part, [(args.seed * 1000 + k, shares[k], args.speakers // n) for k in range(n)]))
    elif args.part == "said":
        n, said = args.processes, read_items(args.items)["said"]
        with multiprocessing.get_context("spawn").Pool(n) as pool:
            made = bank.join(pool.map(said_part, [(args.seed * 1000 + k, said[k::n]) for k in range(n)]))
    elif args.part == "recorded":
        made = recorded_part(args)
    else:
        made = kokoro_part(args, args.seed, args.device, args.seconds)
    np.savez(target, **made)
    print(f"{target}: {len(made['samples']) / 8000 / 3600:.2f} h, {len(made['words'])} words, {len(made['speakers'])} speakers, {time.time() - start:.0f} s")


if __name__ == "__main__":
    main()
