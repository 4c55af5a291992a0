"""Which words of the bank go where in each training window. Runs in worker processes; no samples are touched here."""
import random
import re

import numpy as np

import texts
from bank import RATE
from pieces import END, PROMPT, Pieces
from vocabulary import WRITABLE

SEGMENTS, LABELS, CHARACTERS = 64, 64, 280
CODE = {c: k for k, c in enumerate(WRITABLE)}
# Share of each kind in the windows of whole utterances: real people, and Pico's general sentences.
PEOPLE = {"reader": 0.24, "talker": 0.24, "accented": 0.14, "speller": 0.18, "figures": 0.06, "said": 0.14}


def text_size(samples):
    """Pieces that a window's text may have, its end included."""
    return (16 + samples // 1200) // 8 * 8


class Planner:
    """Draws training windows. A window is a list of pieces of the bank: source, length, place, speed, gain."""

    def __init__(self, words, utterances, speakers, written, seed, composed=0.45):
        self.rng, self.pieces = random.Random(seed), Pieces()
        self.words, self.utterances, self.written = words.tolist(), utterances.tolist(), written.tolist()  # lists: quicker to look into one by one
        self.share = composed
        many = utterances[:, 1] > 1
        family = np.array([str(s).split("-")[0] for s in speakers])[utterances[:, 2]]
        self.real = {kind: {} for kind in PEOPLE}  # kind -> speaker -> utterances
        for u in np.flatnonzero(np.isin(family, list(PEOPLE))):
            self.real[family[u]].setdefault(str(speakers[utterances[u, 2]]), []).append(int(u))
        self.real = {kind: list(speakers.values()) for kind, speakers in self.real.items() if speakers}
        open_talk = np.isin(family, [k for k in PEOPLE if k != "figures"])
        self.phrases = {f: np.flatnonzero(many & (family == f)) for f in ("kokoro", "espeak", "festival")}
        self.phrases = {f: v for f, v in self.phrases.items() if len(v)}
        self.takes = {}  # speaker -> output -> words said alone
        for u in np.flatnonzero(~many & ~open_talk):
            first, _, speaker = utterances[u]
            self.takes.setdefault(str(speakers[speaker]), {}).setdefault(int(words[first, 2]), []).append(int(first))
        full = [s for s, t in self.takes.items() if len(t) > 60]
        self.synthetic = {f: [s for s in full if s.startswith(f)] for f in ("kokoro", "espeak", "festival", "pico")}
        self.synthetic = {f: v for f, v in self.synthetic.items() if v}
        alone = [s for s in self.takes if s not in full]
        self.people = [s for s in alone if not s.startswith("figures-")]
        self.digit_people = [s for s in self.people if len(self.takes[s]) <= 10]
        self.many_digit_people = [s for s in alone if s.startswith("figures-")]  # each of them said only some of the figures

    def family(self, table, weights):
        names = list(table)
        return table[self.rng.choices(names, [weights[n] for n in names])[0]]

    def gap(self):
        """Samples between words that are parted: mostly short, up to 0.8 s."""
        return int(self.rng.uniform(160, 2800) if self.rng.random() < 0.7 else self.rng.uniform(2800, 6400))

    def pace(self, low, high):
        """Factor of the tempo: mostly within the limits, now and then 0.7 to 1.4."""
        return self.rng.uniform(low, high) if self.rng.random() < 0.88 else self.rng.uniform(0.7, 1.4)

    def phrase(self):
        """[(word row, gap before it in samples)] from one utterance."""
        rng = self.rng
        pool = self.family(self.phrases, {"kokoro": 0.76, "espeak": 0.18, "festival": 0.06})
        first, count, _ = self.utterances[pool[rng.randrange(len(pool))]]
        a, b = 0, count
        if rng.random() < 0.2:
            a = rng.randrange(count)
            b = rng.randrange(a, count) + 1
        rows = range(first + a, first + b)
        chance = rng.choice([0.0, 0.0, 0.0, 0.2, 1.0])
        return [(int(r), self.gap() if k and rng.random() < chance else 0) for k, r in enumerate(rows)]

    def composed(self):
        """[(word row, gap)] of words said alone by one speaker (or by two, letters and figures apart)."""
        rng = self.rng
        speaker = rng.choice(self.family(self.synthetic, {"kokoro": 0.72, "espeak": 0.18, "festival": 0.05, "pico": 0.05}))
        voices = [self.takes[speaker]]
        if self.people and rng.random() < 0.3:
            for others, share in ((self.digit_people, 0.6), (self.many_digit_people, 0.5)):
                if others and rng.random() < share:
                    voices.insert(0, self.takes[rng.choice(others)])
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
        low = rng.choice([80, 200, 500, 1200, 2600])
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
        """One window of made speech and of words said alone."""
        rng, w = self.rng, Window(samples)
        t = int(rng.choice([rng.uniform(0, 2500), rng.uniform(0, 9000)]))
        empty = rng.random() < 0.04
        while not empty and t < samples - 2400 and w.count < SEGMENTS:
            group = self.composed() if rng.random() < self.share else self.phrase()
            rate, level, began = self.pace(0.84, 1.22), 10 ** (rng.uniform(-5, 5) / 20), w.count
            late = rng.uniform(0.1, 0.3) if rng.random() < 0.06 else 0  # the key was pressed late: the first word is not whole
            for row, gap in group:
                first, end, output, _ = self.words[row]
                first += int(late * (end - first)) if w.count == began else 0
                pace = rate * (1 if gap == 0 else rng.uniform(0.97, 1.03))
                if not w.fits(t + gap, (end - first) / pace, 1):
                    break
                t = w.add(first, end, t + gap, pace, level, [output], [self.written[row]])
            if w.count == began and w.count:
                break
            t += int(min(rng.expovariate(1 / 5000), 24000)) + 400
        return w

    def run(self, utterance, longest):
        """(first word, word after the last) of a run of the utterance's words that may be cut out and is at most `longest`
        samples long; None when there is none. The whole utterance, if it fits, every other time."""
        begin, count, _ = self.utterances[utterance]
        words = self.words
        if words[begin + count - 1][1] - words[begin][0] <= longest and self.rng.random() < 0.5:
            return begin, begin + count
        starts = [begin] + [k for k in range(begin + 1, begin + count) if words[k - 1][1] <= words[k][0]]
        first = self.rng.choice(starts)
        ends = [k for k in starts if k > first] + [begin + count]
        ends = [k for k in ends if words[k - 1][1] - words[first][0] <= longest]
        return (first, ends[-1] if self.rng.random() < 0.6 else self.rng.choice(ends)) if ends else None

    def one_word(self, utterance):
        """One word that may be cut out, as `run` gives it; None when the one drawn may not."""
        begin, count, _ = self.utterances[utterance]
        k, words = self.rng.randrange(begin, begin + count), self.words
        free_before = k == begin or words[k - 1][1] <= words[k][0]
        free_after = k + 1 == begin + count or words[k][1] <= words[k + 1][0]
        return (k, k + 1) if free_before and free_after else None

    def real_window(self, samples):
        """One window of one real person: runs of words out of whole utterances; of spellers and readers now and then their
        single words in any order, so that what a word sounds like does not hang on its neighbours."""
        rng, w = self.rng, Window(samples)
        utterances = rng.choice(self.family(self.real, PEOPLE))
        t, level = int(rng.uniform(0, 3000)), 10 ** (rng.uniform(-4, 4) / 20)
        shuffled, pace = rng.random() < 0.12, self.pace(0.85, 1.22)
        for _ in range(30 if shuffled else 12):
            utterance = rng.choice(utterances)
            run = self.one_word(utterance) if shuffled else self.run(utterance, (samples - 200 - t) * pace)
            if run is None:
                continue
            rows = range(*run)
            first, end = self.words[rows[0]][0], self.words[rows[-1]][1]
            if not w.fits(t, (end - first) / pace, len(rows)):
                continue
            t = w.add(first, end, t, pace, level, [self.words[r][2] for r in rows], [self.written[r] for r in rows])
            t += self.gap() if shuffled else int(rng.uniform(800, 8000))
        return w

    def batch(self, count, samples, real=False):
        """[source, length, place, speed, gain (count, SEGMENTS)], word labels and how many, letters and how many, the text in
        pieces with the prompt before it, and what follows each of them (-100: does not count)."""
        windows = [self.real_window(samples) if real and self.real else self.window(samples) for _ in range(count)]
        labels, sizes = np.zeros((count, LABELS), np.int64), np.zeros(count, np.int64)
        letters, letter_sizes = np.zeros((count, CHARACTERS), np.int64), np.zeros(count, np.int64)
        longest = text_size(samples)
        written, follows = np.full((count, len(PROMPT) + longest), END, np.int64), np.full((count, len(PROMPT) + longest), -100, np.int64)
        written[:, : len(PROMPT)] = PROMPT
        for k, w in enumerate(windows):
            text = (self.pieces.encode(re.sub("[^a-z' ]", "", " ".join(w.said))) + [END])[:longest]
            written[k, len(PROMPT) : len(PROMPT) + len(text)] = text
            follows[k, len(PROMPT) - 1 : len(PROMPT) - 1 + len(text)] = text
            labels[k, : len(w.outputs)], sizes[k] = w.outputs, len(w.outputs)
            code = [CODE[c] for c in " ".join(w.said) if c in CODE][:CHARACTERS]
            letters[k, : len(code)], letter_sizes[k] = code, len(code)
        return [np.stack([getattr(w, name) for w in windows]) for name in ("source", "length", "place", "speed", "gain")] + [labels, sizes, letters, letter_sizes, written, follows]


class Window:
    """Pieces of the bank in one window, and what is said in it."""

    def __init__(self, samples):
        self.samples, self.count, self.outputs, self.said = samples, 0, [], []
        self.source, self.length, self.place = np.zeros(SEGMENTS, np.int64), np.zeros(SEGMENTS, np.float32), np.full(SEGMENTS, samples, np.int64)
        self.speed, self.gain = np.ones(SEGMENTS, np.float32), np.ones(SEGMENTS, np.float32)

    def fits(self, at, size, words):
        return self.count < SEGMENTS and len(self.outputs) + words <= LABELS and at + size <= self.samples - 200

    def add(self, first, end, at, pace, level, outputs, said):
        """Puts one piece at sample `at`; returns where it ends."""
        k = self.count
        self.source[k], self.length[k], self.place[k], self.speed[k], self.gain[k] = first, end - first, at, pace, level
        self.count, self.outputs, self.said = k + 1, self.outputs + outputs, self.said + said
        return at + int((end - first) / pace)


def worker(folder, seed, shapes, composed, queue):
    """Puts batches into the queue for ever. shapes: (rows, samples, whether of real people), used in turn."""
    read = lambda name: np.load(f"{folder}/{name}.npy")
    planner = Planner(read("words"), read("utterances"), read("speakers"), read("texts"), seed, composed)
    turn = seed
    while True:
        count, samples, real = shapes[turn % len(shapes)]
        queue.put((samples, real, planner.batch(count, samples, real)))
        turn += 1
