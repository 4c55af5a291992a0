"""Which words of the bank go where in each training window. Runs in worker processes; no samples are touched here."""
import random

import numpy as np

import texts
from bank import RATE

SEGMENTS, LABELS = 48, 48


class Planner:
    """Draws training windows. A window is a list of pieces of the bank: source, length, place, speed, gain."""

    def __init__(self, words, utterances, speakers, seed, composed=0.45):
        self.words, self.utterances, self.rng = words, utterances, random.Random(seed)
        self.share = composed
        many = utterances[:, 1] > 1
        family = np.array([str(s).split("-")[0] for s in speakers])[utterances[:, 2]]
        self.phrases = {f: np.flatnonzero(many & (family == f)) for f in ("kokoro", "espeak", "festival")}
        self.phrases = {f: v for f, v in self.phrases.items() if len(v)}
        self.takes = {}  # speaker -> output -> words said alone
        for u in np.flatnonzero(~many):
            first, _, speaker = utterances[u]
            self.takes.setdefault(str(speakers[speaker]), {}).setdefault(int(words[first, 2]), []).append(int(first))
        full = [s for s, t in self.takes.items() if len(t) > 60]
        self.synthetic = {f: [s for s in full if s.startswith(f)] for f in ("kokoro", "espeak", "festival", "pico")}
        self.synthetic = {f: v for f, v in self.synthetic.items() if v}
        self.people = [s for s in self.takes if s not in full]
        self.digit_people = [s for s in self.people if len(self.takes[s]) <= 10]

    def family(self, table, weights):
        names = list(table)
        return table[self.rng.choices(names, [weights[n] for n in names])[0]]

    def phrase(self):
        """[(word row, gap before it in samples)] from one utterance."""
        rng = self.rng
        pool = self.family(self.phrases, {"kokoro": 0.72, "espeak": 0.2, "festival": 0.08})
        first, count, _ = self.utterances[pool[rng.randrange(len(pool))]]
        a, b = 0, count
        if rng.random() < 0.2:
            a = rng.randrange(count)
            b = rng.randrange(a, count) + 1
        rows = range(first + a, first + b)
        chance = rng.choice([0.0, 0.0, 0.0, 0.2, 1.0])
        return [(int(r), int(rng.uniform(160, 2800)) if k and rng.random() < chance else 0) for k, r in enumerate(rows)]

    def composed(self):
        """[(word row, gap)] of words said alone by one speaker (or by two, letters and figures apart)."""
        rng = self.rng
        speaker = rng.choice(self.family(self.synthetic, {"kokoro": 0.72, "espeak": 0.18, "festival": 0.05, "pico": 0.05}))
        voices = [self.takes[speaker]]
        if self.people and rng.random() < 0.3:
            if self.digit_people:
                voices.insert(0, self.takes[rng.choice(self.digit_people)])
            if rng.random() < 0.5:
                voices.insert(0, self.takes[rng.choice(self.people)])
        k = rng.random()
        if k < 0.6:
            said = self.spelled()
        elif k < 0.72:
            said = texts.report(rng)
        elif k < 0.75:
            said = texts.name(rng)
        elif k < 0.85:
            said = [(None, o) for o in rng.choices(list(voices[-1]), k=rng.choice([1, 2, 4, 6]))]
        elif k < 0.92 and len(voices) > 1:
            said = [(None, o) for o in rng.choices(list(voices[0]), k=rng.choice([1, 3, 5]))]
        else:
            said = texts.over(rng)
        low = rng.choice([80, 200, 500, 1200])
        out = []
        for _, output in said:
            found = next((v[output] for v in voices if output in v), None)
            if found:
                out.append((rng.choice(found), int(rng.uniform(low * 0.6, low * 2.2)) if out else 0))
        return out

    def spelled(self):
        rng = self.rng
        call = texts.sign(rng)
        style = rng.choices(["itu", "letter", "other"], [0.75, 0.17, 0.08])[0]
        said = texts.spell(call, rng, style)
        if rng.random() < 0.25:
            said = said + texts.spell(call, rng, style)
        if rng.random() < 0.25:
            said = texts.plain(rng.choice(["this is", "from", "roger", "qrz", "you are"])) + said
        if rng.random() < 0.25:
            said = said + texts.plain(rng.choice(["mobile", "over", "portable", "standing by", "again", "roger"]))
        return said

    def window(self, samples):
        """Arrays of one window: source (S), length (S), place (S), speed (S), gain (S), outputs."""
        rng = self.rng
        source, length, place = np.zeros(SEGMENTS, np.int64), np.zeros(SEGMENTS, np.float32), np.full(SEGMENTS, samples, np.int64)
        speed, gain, outputs, n = np.ones(SEGMENTS, np.float32), np.ones(SEGMENTS, np.float32), [], 0
        t = int(rng.choice([rng.uniform(0, 2500), rng.uniform(0, 9000)]))
        empty = rng.random() < 0.03
        while not empty and t < samples - 2400 and n < SEGMENTS:
            group = self.composed() if rng.random() < self.share else self.phrase()
            rate, level, began = rng.uniform(0.84, 1.22), 10 ** (rng.uniform(-5, 5) / 20), n
            for row, gap in group:
                first, end, output, _ = self.words[row]
                pace = rate * (1 if gap == 0 else rng.uniform(0.97, 1.03))
                size = int((end - first) / pace)
                if n == SEGMENTS or len(outputs) == LABELS or t + gap + size > samples - 200:
                    break
                t += gap
                source[n], length[n], place[n], speed[n], gain[n] = first, end - first, t, pace, level
                t, n = t + size, n + 1
                outputs.append(output)
            if n == began and n:
                break
            t += int(min(rng.expovariate(1 / 5000), 24000)) + 400
        return source, length, place, speed, gain, outputs

    def batch(self, count, samples):
        rows = [self.window(samples) for _ in range(count)]
        labels, sizes = np.zeros((count, LABELS), np.int64), np.zeros(count, np.int64)
        for k, row in enumerate(rows):
            labels[k, : len(row[5])], sizes[k] = row[5], len(row[5])
        return [np.stack([r[k] for r in rows]) for k in range(5)] + [labels, sizes]


def worker(folder, seed, count_samples, composed, queue):
    """Puts batches into the queue for ever. count_samples: the (rows, samples) shapes, used in turn."""
    read = lambda name, mode=None: np.load(f"{folder}/{name}.npy", mmap_mode=mode)
    planner = Planner(read("words"), read("utterances"), read("speakers"), seed, composed)
    turn = seed
    while True:
        count, samples = count_samples[turn % len(count_samples)]
        queue.put((samples, planner.batch(count, samples)))
        turn += 1
