"""The recogniser's vocabulary: one table for training (here), for the decoder and for the draft (the crate `vocabulary` beside this folder)."""
import pathlib
from dataclasses import dataclass

TABLE = pathlib.Path(__file__).with_name("vocabulary.tsv")


@dataclass(frozen=True)
class Token:
    """One output of the model. `symbol` is the letter or figure it stands for, or '' for none."""

    name: str
    kind: str
    symbol: str
    is_name: bool
    spoken: tuple


def load():
    """All tokens in order; token k of this list is output k + 1 of the model (output 0 is the CTC blank)."""
    tokens = []
    for line in TABLE.read_text(encoding="utf-8").splitlines():
        if line.startswith("#") or not line:
            continue
        # The sixth column says what the word means in a contact; no model needs that.
        name, kind, symbol, is_name, spoken = line.split("\t")[:5]
        tokens.append(Token(name, kind, "" if symbol == "-" else symbol, is_name == "name", tuple(spoken.split("|"))))
    return tokens


TOKENS = load()
OUTPUT = {token.name: k + 1 for k, token in enumerate(TOKENS)}
OTHER_WORD = OUTPUT["<word>"]
SIZE = len(TOKENS) + 1
# What the letters' output writes, output 0 being the CTC blank.
WRITABLE = "_ abcdefghijklmnopqrstuvwxyz'"


def by_symbol(symbol, *kinds):
    """Names of the tokens of the given kinds that stand for `symbol`."""
    return [t.name for t in TOKENS if t.symbol == symbol and t.kind in kinds]


def output_of(word):
    """The model output for a plain written word: its own token, or 'some other word'."""
    return OUTPUT.get(word.lower(), OTHER_WORD)
