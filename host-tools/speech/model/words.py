"""Letters to words: a beam search over the letters' scores with a word list and three-word statistics. For judging what they are
worth, not for the program.

Run: python words.py learn MODEL.pickle               counts the words of open_texts.py's sources
     python words.py read MODEL.pickle SCORES.npz     reads what `letters.py --keep` wrote
A word that is not in the list stays possible: it costs --open-cost nats and 0.5 more a letter.
"""
import argparse
import collections
import math
import pathlib
import pickle

import numpy as np

from vocabulary import WRITABLE

SPACE = WRITABLE.index(" ")
DISCOUNT = 0.75


class Statistics:
    """Probability of a word after two others: absolute discounting, one order into the next."""

    def __init__(self, sentences, least=1):
        one, self.two, self.three = collections.Counter(), collections.Counter(), collections.Counter()
        for s in sentences:
            w = ["<s>", "<s>", *s.split()]
            for a, b, c in zip(w, w[1:], w[2:]):
                one[c] += 1
                self.two[b, c] += 1
                self.three[a, b, c] += 1
        self.one = collections.Counter({w: n for w, n in one.items() if n >= least})
        self.total = sum(self.one.values())
        self.after_one, self.kinds_one = collections.Counter(), collections.Counter()
        for (b, _), n in self.two.items():
            self.after_one[b] += n
            self.kinds_one[b] += 1
        self.after_two, self.kinds_two = collections.Counter(), collections.Counter()
        for (a, b, _), n in self.three.items():
            self.after_two[a, b] += n
            self.kinds_two[a, b] += 1
        self.begun = collections.Counter()
        for w, n in self.one.items():
            for k in range(1, len(w) + 1):
                self.begun[w[:k]] = max(self.begun[w[:k]], n)

    def probability(self, a, b, word):
        low = self.one[word] / self.total
        if n := self.after_one[b]:
            low = max(0, self.two[b, word] - DISCOUNT) / n + DISCOUNT * self.kinds_one[b] / n * low
        if n := self.after_two[a, b]:
            low = max(0, self.three[a, b, word] - DISCOUNT) / n + DISCOUNT * self.kinds_two[a, b] / n * low
        return low


class Reader:
    """Beam search. `weight` of the statistics, `bonus` a word, `open_cost` of a word that is not in the list."""

    def __init__(self, statistics, weight=0.6, bonus=1.0, open_cost=9.0, beam=40, least=-7.0):
        self.s, self.weight, self.bonus, self.open_cost, self.beam, self.least = statistics, weight, bonus, open_cost, beam, least
        self.known = {}

    def of_word(self, a, b, word):
        key = (a, b, word)
        if key not in self.known:
            p = self.s.probability(a, b, word)
            self.known[key] = self.weight * math.log(p) if p > 0 else -self.open_cost - 0.5 * len(word)
            self.known[key] += self.bonus
        return self.known[key]

    def ahead(self, part):
        """What an unfinished word is worth at most."""
        if not part:
            return 0.0
        n = self.s.begun.get(part, 0)
        return self.weight * 0.7 * math.log(n / self.s.total) if n else -self.open_cost - 0.5 * len(part)

    def read(self, scores):
        scores = np.asarray(scores, np.float64)
        beams = {((), ""): (0.0, -1e9, 0.0)}  # (words, unfinished word): paths that end in blank, in the last letter; worth of words
        add = np.logaddexp
        for row in scores:
            found = {}

            def put(key, blank, letter, worth):
                old = found.get(key)
                found[key] = (blank, letter, worth) if old is None else (add(old[0], blank), add(old[1], letter), worth)

            likely = [k for k in np.flatnonzero(row > self.least) if k]
            for (words, part), (blank, letter, worth) in beams.items():
                both = add(blank, letter)
                last = part[-1] if part else (" " if words else "")
                put((words, part), both + row[0], letter + row[WRITABLE.index(last)] if last else -1e9, worth)
                for k in likely:
                    c = WRITABLE[k]
                    way = (blank if c == last else both) + row[k]
                    if k == SPACE:
                        if part:
                            a, b = (("<s>", "<s>") + words)[-2:]
                            put((words + (part,), ""), -1e9, way, worth + self.of_word(a, b, part))
                    else:
                        put((words, part + c), -1e9, way, worth)
            rank = lambda item: add(item[1][0], item[1][1]) + item[1][2] + self.ahead(item[0][1])
            beams = dict(sorted(found.items(), key=rank, reverse=True)[: self.beam])

        def whole(item):
            (words, part), (blank, letter, worth) = item
            a, b = (("<s>", "<s>") + words)[-2:]
            return add(blank, letter) + worth + (self.of_word(a, b, part) if part else 0.0)

        words, part = max(beams.items(), key=whole)[0]
        return " ".join(words + ((part,) if part else ()))


def learn(out):
    import open_texts

    said = open_texts.sentences()
    talk = [t.replace("{name}", "").replace("{place}", "").replace("{}", "") for t in open_texts.TALK + open_texts.ROAD]
    names = [f"{carrier} {name}" for name in open_texts.given_names() for carrier in ("name is", "my name is")]
    places = open_texts.REGIONS + open_texts.cities()
    letters = [c for c in WRITABLE[2:-1]] * 200
    pathlib.Path(out).write_bytes(pickle.dumps(vars(Statistics(said + 20 * talk + names + places + letters))))


def main():
    import letters

    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("step", choices=["learn", "read"])
    p.add_argument("model")
    p.add_argument("scores", nargs="?")
    p.add_argument("--weight", type=float, default=0.6)
    p.add_argument("--bonus", type=float, default=1.0)
    p.add_argument("--open-cost", type=float, default=9.0)
    p.add_argument("--beam", type=int, default=40)
    p.add_argument("--only", default="", help="beginning of the keys to be read, as 'readers|clean'")
    p.add_argument("--every", type=int, default=1)
    args = p.parse_args()
    if args.step == "learn":
        return learn(args.model)
    statistics = Statistics([])
    vars(statistics).update(pickle.loads(pathlib.Path(args.model).read_bytes()))
    reader = Reader(statistics, args.weight, args.bonus, args.open_cost, args.beam)
    table = {}
    for number, (key, scores) in enumerate(np.load(args.scores).items()):
        kind, condition, _, said = key.split("|")
        if key.startswith(args.only) and number % args.every == 0:
            plain, read = letters.greedy(scores), reader.read(scores)
            row = table.setdefault((kind, condition), [0, 0, 0, 0])
            row[0] += letters.edits(said.split(), plain.split())
            row[1] += letters.edits(said.split(), read.split())
            row[2] += len(said.split())
            row[3] += 1
    print("| people | condition | utterances | likeliest letters, words wrong % | with words |\n| --- | --- | --- | --- | --- |")
    for (kind, condition), (plain, read, of, count) in table.items():
        print(f"| {kind} | {condition} | {count} | {100 * plain / of:.0f} | {100 * read / of:.0f} |")


if __name__ == "__main__":
    main()
