"""Names said once after 'name is': files to judge or to tune with, the figures of src/calibration.rs, and how many are right.

Run: python named.py files FOLDER --kokoro CACHE [--piper MODEL.onnx] [--names N]    held-out voices, names evenly by rank: for judging
     python named.py files FOLDER --kokoro CACHE --tune [--names N]     other voices, half of the names as common as people are
     cargo run --release -p jumpseat-speech --example names -- FOLDER/*.wav > FOLDER/names.jsonl
     python named.py score FOLDER      tables as Markdown
     python named.py letters FOLDER    writes name_letters.tsv, as what the letters of names are heard; then the example again
     python named.py fit FOLDER        the constants of src/calibration.rs, from a folder of tuning
Needs flite or, to tune, festival (text2wave) on the path, and what judge.py needs. FOLDER/truth.json says what is in each file,
with the other names of the list that espeak-ng says alike ('Steven' and 'Stephen').
"""
import argparse
import collections
import json
import pathlib
import random
import subprocess
import tempfile

import numpy as np
import soundfile
from scipy.optimize import minimize
from scipy.signal import resample_poly

import espeak
import judge
from make_speech import HELD_OUT_STYLES, WHISPERED

CONDITIONS = [("clean", None), ("20", 20), ("12", 12), ("6", 6)]
BEFORE = ["", "", "you are five nine, ", "roger, good morning, ", "thanks for the call, ", "you're four seven here in ohio, ", "q s l, "]
SAID = ["name is {}", "name is {}", "my name is {}", "name here is {}", "the name is {}", "op is {}", "handle is {}", "the name's {}", "operator is {}", "my name's {}"]
AFTER = ["", "", "", ", over", ", back to you", ", how copy", ", and i'm mobile today", ", good to meet you"]
FESTIVAL = ["cmu_us_slt_arctic_hts", "kal_diphone", "ked_diphone"]
ENGLISH_STYLES = ("af_", "am_", "bf_", "bm_", "ef_", "em_", "if_", "pm_")
# Shares of the true names that are taken off the list when fitting: what is said may be on no list.
UNLISTED = 0.1
LETTERS = "abcdefghijklmnopqrstuvwxyz"
# Letters that are heard for one another (our choice); counted is what this is too little of.
NEAR = "aeiouy wv ckqg sczx dt bp mn gj fvp lr hj uw".split()
BEFORE_COUNTING = 12


def listed():
    """[(letters, name as written, class)], commonest first."""
    rows = pathlib.Path(__file__).with_name("first_names.tsv").read_text(encoding="utf-8").splitlines()
    return [(n, written, int(k)) for n, written, k in (row.split("\t") for row in rows if not row.startswith("#"))]


def level(x):
    return x / np.sqrt(np.mean(x**2)) * 0.1


class Espeak:
    def __init__(self, engine):
        self.engine = engine

    def say(self, _, rng, text):
        voice = espeak.voices(random.Random(int(rng.integers(1 << 30))), 1)[0]
        self.engine.voice(voice[0])
        samples, _ = self.engine.speak(text, *voice[1:])
        return level(resample_poly(samples / 32768, 320, 441))


class Festival:
    def say(self, _, rng, text):
        voice = FESTIVAL[int(rng.integers(len(FESTIVAL)))]
        with tempfile.NamedTemporaryFile(suffix=".wav") as out:
            subprocess.run(["text2wave", "-eval", f"(voice_{voice})", "-o", out.name], input=text.encode(), check=True, stderr=subprocess.DEVNULL)
            return judge.read(out.name)


class Pico:
    def __init__(self):
        import py_nanotts

        self.engine = py_nanotts.NanoTTS()

    def say(self, _, rng, text):
        raw = self.engine.speak(text, voice=("en-US", "en-GB")[int(rng.integers(2))], speed=rng.uniform(0.85, 1.15), pitch=rng.uniform(0.8, 1.25))
        return level(np.frombuffer(raw, np.int16) / 32768)


class Kokoro(judge.Kokoro):
    """The voices that the recogniser is trained with, in place of those that it is not."""

    def __init__(self, cache):
        super().__init__(cache, "cpu")
        files = sorted((pathlib.Path(cache) / "styles").glob("*.npy"))
        kept = [f for f in files if f.stem.startswith(ENGLISH_STYLES) and f.stem not in HELD_OUT_STYLES | WHISPERED]
        self.styles = [self.torch.tensor(np.load(f).astype(np.float32)) for f in kept]


def drawn(rows, count, tune, rng):
    """Names evenly by rank; to tune, half of them as often as people have them."""
    even = [rows[k] for k in np.linspace(1 if tune else 0, len(rows) - (7 if tune else 1), count).astype(int)]
    if tune:
        common = rng.choices(rows, [2.0 ** -k for *_, k in rows], k=count)
        even = [common[k] if k % 2 else even[k] for k in range(count)]
    rng.shuffle(even)
    return even


def files(args):
    folder = pathlib.Path(args.folder)
    folder.mkdir(parents=True, exist_ok=True)
    rows, pick, truth = listed(), random.Random(19 if args.tune else 5), []
    kokoro = Kokoro(args.kokoro) if args.tune else judge.Kokoro(args.kokoro, "cpu")
    engine = kokoro.table.espeak
    sound = {n: engine.phonemes(n).replace("ˈ", "").replace("ˌ", "").replace("ː", "") for n, *_ in rows}
    alike = collections.defaultdict(list)
    for n, written, _ in rows:
        alike[sound[n]].append(written)
    if args.tune:
        voices = {"kokoro": kokoro, "espeak": Espeak(engine), "pico": Pico(), "festival": Festival()}
        order = ["kokoro", "espeak", "kokoro", "pico", "festival"]
    else:
        voices = {"kokoro": kokoro, "flite": judge.Flite(["awb", "rms"])}
        order = ["kokoro", "flite", "kokoro"]
        if args.piper:
            voices["piper"], order = judge.Piper(args.piper), ["kokoro", "flite", "kokoro", "piper"]
    for k, (n, written, rank) in enumerate(drawn(rows, args.names, args.tune, pick)):
        text = pick.choice(BEFORE) + pick.choice(SAID).replace("{}", n) + pick.choice(AFTER)
        family = order[k % len(order)]
        rng = np.random.default_rng([k, int(args.tune), 31])
        x = voices[family].say("", rng, text)
        # To tune with: at 12 dB and in one other condition.
        chosen = CONDITIONS if not args.tune else [CONDITIONS[2], CONDITIONS[(0, 1, 3)[k % 3]]]
        for condition, snr in chosen:
            name = f"{family}-{k:03d}-{condition}.wav"
            soundfile.write(folder / name, np.clip(judge.channel(x, snr, rng), -1, 1), judge.RATE, subtype="PCM_16")
            truth.append(dict(file=name, family=family, condition=condition, name=written, letters=n, text=text, alike=[w for w in alike[sound[n]] if w != written]))
    (folder / "truth.json").write_text(json.dumps(truth, indent=0, ensure_ascii=False), encoding="utf-8")
    print(f"{len(truth)} files in {folder}")


def share(right):
    """Per cent, with the 95 % interval of Wilson."""
    n, p, z = len(right), np.mean(right) if len(right) else 0.0, 1.96
    middle, half = (p + z * z / 2 / n) / (1 + z * z / n), z * np.sqrt(p * (1 - p) / n + z * z / 4 / n / n) / (1 + z * z / n)
    return f"{100 * p:.0f} ({100 * (middle - half):.0f} to {100 * (middle + half):.0f})"


def read(folder):
    """[(truth, what was made of the file or None)]."""
    heard = {}
    for line in (folder / "names.jsonl").read_text(encoding="utf-8").splitlines():
        one = json.loads(line)
        heard.setdefault(pathlib.Path(one["file"]).name, one)
    return [(t, heard.get(t["file"])) for t in json.loads((folder / "truth.json").read_text(encoding="utf-8"))]


def score(args):
    found = read(pathlib.Path(args.folder))
    print("| condition | names | found 'name is' | right % (95 %) | right or said alike % | among the first five % | wrong and above 0.9 % | neither nor said alike and above 0.9 % |\n| --- | --- | --- | --- | --- | --- | --- | --- |")
    groups = [("all voices", c) for c, _ in CONDITIONS] + sorted({(t["family"], "12") for t, _ in found})
    for family, condition in groups:
        rows = [(t, h) for t, h in found if t["condition"] == condition and family in ("all voices", t["family"])]
        if not rows:
            continue
        given = [(h or {}).get("names", []) for _, h in rows]
        first = [g[0] if g else ["", 0.0] for g in given]
        right = [f[0] == t["name"] for f, (t, _) in zip(first, rows)]
        like = [f[0] == t["name"] or f[0] in t["alike"] for f, (t, _) in zip(first, rows)]
        five = [t["name"] in [n for n, _ in g[:5]] for g, (t, _) in zip(given, rows)]
        bold = [f[1] > 0.9 and not r for f, r in zip(first, right)]
        far = [f[1] > 0.9 and not r for f, r in zip(first, like)]
        print(f"| {family}, {condition} | {len(rows)} | {sum(h is not None for _, h in rows)} | {share(right)} | {share(like)} | {share(five)} | {share(bold)} | {share(far)} |")
        if args.wrong and condition in ("clean", "12") and family == "all voices":
            for (t, h), f, r in zip(rows, first, right):
                if not r:
                    print("  ", t["file"], t["text"], "->", f, "|", (h or {}).get("text"), (h or {}).get("names", [])[1:4])


def aligned(name, heard):
    """[(letter of the name or '', letter heard or '')] with the fewest edits; near letters cost half."""
    cost = lambda a, b: 0.0 if a == b else 0.5 if any(a in n and b in n for n in NEAR) else 1.2
    best = {(0, 0): (0.0, [])}
    for i in range(len(name) + 1):
        for j in range(len(heard) + 1):
            ways = [best[i - 1, j - 1]] if i and j else []
            ways = [(c + cost(name[i - 1], heard[j - 1]), p + [(name[i - 1], heard[j - 1])]) for c, p in ways]
            ways += [(c + 0.8, p + [(name[i - 1], "")]) for c, p in ([best[i - 1, j]] if i else [])]
            ways += [(c + 0.8, p + [("", heard[j - 1])]) for c, p in ([best[i, j - 1]] if j else [])]
            if ways:
                best[i, j] = min(ways)
    return best[len(name), len(heard)]


def letters(args):
    """What the letters of names are heard as: counts where the word that was written is near the name, beside our choice."""
    counts = {a: collections.Counter() for a in LETTERS}
    for t, h in read(pathlib.Path(args.folder)) if args.folder != "none" else []:
        if h is not None:
            cost, pairs = aligned(t["letters"], h["written"].replace("'", ""))
            if cost <= 0.4 * len(t["letters"]):
                for a, b in pairs:
                    counts[a].update([b]) if a else None
    lines = ["# As what a letter of a name is heard beside itself: nothing, a, b, … z. Written by named.py."]
    for a in LETTERS:
        near = set("".join(n for n in NEAR if a in n)) - {a}
        first = {b: 0.09 / len(near) for b in near} | {a: 0.84, "": 0.05}
        left = [b for b in LETTERS if b not in first]
        first |= {b: (1 - sum(first.values())) / len(left) for b in left}
        total = sum(counts[a].values()) + BEFORE_COUNTING
        share = {b: (counts[a][b] + BEFORE_COUNTING * first[b]) / total for b in ["", *LETTERS]}
        lines.append("\t".join([a, *(f"{min(1, share[b] / share[a]):.4f}" for b in ["", *LETTERS])]))
    pathlib.Path(__file__).with_name("name_letters.tsv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def fit(args):
    """Largest likelihood over the candidates of each file; a share of the true names is taken off the list."""
    rng, cases = np.random.default_rng(3), []
    for t, h in read(pathlib.Path(args.folder)):
        if h is None:
            continue
        off = rng.random() < UNLISTED
        rows = [f for f in h["figures"] if not (off and f["name"] == t["name"])]
        place = next((k for k, f in enumerate(rows) if f["name"] == t["name"]), len(rows))
        cases.append((np.array([[f["letters"], f["decoder"], -f["class"], 0.0] for f in rows] + [[0.0, 0.0, 0.0, 1.0]]), place))
    scores = lambda w, x: x @ w

    def loss(w):
        return np.mean([np.logaddexp.reduce(scores(w, x)) - scores(w, x)[p] for x, p in cases]) + 1e-3 * np.sum(np.square(w))

    bounds = [(0.0, None)] * 3 + [(None, None)]
    best = minimize(loss, [0.5, 0.5, 0.2, -2.0], bounds=bounds, method="L-BFGS-B")
    right = np.mean([int(np.argmax(scores(best.x, x)) == p) for x, p in cases])
    print(f"{len(cases)} files, {best.fun:.3f} nats each, right {100 * right:.0f} %")
    for name, value in zip("NAME_LETTERS_WEIGHT NAME_DECODER_WEIGHT NAME_CLASS_WEIGHT NONE_OF_THE_NAMES".split(), best.x):
        print(f"pub(crate) const {name}: f64 = {value:.3f};")


def main():
    p = argparse.ArgumentParser(description=__doc__)
    commands = p.add_subparsers(required=True)
    make = commands.add_parser("files")
    make.add_argument("folder")
    make.add_argument("--kokoro", required=True)
    make.add_argument("--piper")
    make.add_argument("--tune", action="store_true")
    make.add_argument("--names", type=int, default=80)
    make.set_defaults(run=files)
    for name, run in (("score", score), ("letters", letters), ("fit", fit)):
        one = commands.add_parser(name)
        one.add_argument("folder")
        one.set_defaults(run=run)
        one.add_argument("--wrong", action="store_true")
    args = p.parse_args()
    args.run(args)


if __name__ == "__main__":
    main()
