"""Written words to Kokoro's phoneme symbols, one word at a time, so that each word's samples are known afterwards."""
import json
import pathlib

# Weak forms of the commonest words; espeak-ng gives citation forms for single words (common practice).
WEAK = {"the": "ðə", "a": "ɐ", "to": "tə", "of": "ʌv", "and": "ænd", "for": "fɔːɹ", "you": "juː", "is": "ɪz", "are": "ɑːɹ", "your": "jʊɹ", "my": "maɪ", "i": "aɪ"}
# Kokoro was trained with single symbols for English diphthongs and affricates (misaki, Apache-2.0).
DIPHTHONGS = {"aɪ": "I", "aʊ": "W", "eɪ": "A", "ɔɪ": "Y", "oʊ": "O", "əʊ": "Q", "dʒ": "ʤ", "tʃ": "ʧ", "ɚ": "əɹ", "ɐ": "ə"}
# Foreign accents, roughly: each is a set of replacements in the phonemes.
ACCENTS = [
    {"θ": "s", "ð": "z", "w": "v", "ɹ": "ʁ", "æ": "ɛ"},
    {"θ": "t", "ð": "d", "ɪ": "i", "ɹ": "ɾ", "ʃ": "s", "v": "b"},
    {"θ": "s", "ð": "z", "ɪ": "i", "ɹ": "ʁ", "h": "", "ʤ": "ʒ", "dʒ": "ʒ"},
    {"θ": "t", "ð": "d", "w": "ʋ", "ɹ": "ɾ", "v": "ʋ"},
    {"θ": "s", "ð": "d", "l": "ɹ", "v": "b", "æ": "a"},
    {"ɹ": "r", "w": "v", "ɪ": "i", "æ": "ɛ", "ɜː": "ɛ", "θ": "f", "ð": "d"},
]

# Other ways in which the spelling words are commonly said: the stress of the published table, and what accents make of them.
SAID = {
    "alpha": ["ˈælfɑː", "ˈɑːlfɑː"], "charlie": ["ʃˈɑːɹliː", "tʃˈɑːɹliː"], "delta": ["dˈɛltɑː"], "echo": ["ˈɛkoː"], "foxtrot": ["fˈɔkstɹɔt"],
    "golf": ["ɡˈɔlf", "ɡˈɔːlf", "ɡˈʌlf"], "hotel": ["hətˈɛl", "hˈoʊtɛl", "oʊtˈɛl"], "india": ["ˈɪndjə", "ˈɪndiːɑː"],
    "juliet": ["dʒˈuːliːɛt", "dʒˈuːlɪˌɛt", "dʒˈuːliːət", "dʒˌuːliːˈɛt", "dʒˈuːljɛt"], "kilo": ["kˈiːloː", "kˈɪloʊ"], "lima": ["lˈiːmɑː", "lˈaɪmə"],
    "november": ["noʊvˈɛmbə", "nəvˈɛmbɚ"], "oscar": ["ˈɔskɑː", "ˈɔskə"], "papa": ["pɑːpˈɑː", "pəpˈɑː", "pˈɑːpɑː", "pˈæpə"],
    "quebec": ["kəbˈɛk", "kɛbˈɛk", "keɪbˈɛk", "kˈɛbɛk", "kwəbˈɛk"], "romeo": ["ɹˈoʊmioʊ", "ɹoʊmˈeɪoʊ"], "sierra": ["siˈɛɹɑː", "sɪˈɛɹə"],
    "tango": ["tˈɑːŋɡoʊ"], "uniform": ["jˈuːniːfɔːɹm", "ˈuːniːfɔːɹm"], "victor": ["vˈɪktə", "vˈɪktɑː"], "whiskey": ["wˈɪskiː"], "x-ray": ["ˈɛksɹeɪ", "ɛksɹˈeɪ"],
    "zulu": ["zˈuːlu", "zuːlˈuː"], "zero": ["zˈiːɹoʊ", "zˈɪɹoʊ"], "three": ["tɹˈiː"], "four": ["fˈoʊɚ"], "seven": ["sˈɛvn"], "nine": ["nˈaɪnə"],
}


class Phonemes:
    """A cache of espeak-ng's phonemes for single words."""

    def __init__(self, symbols_path, espeak):
        self.symbols = json.loads(pathlib.Path(symbols_path).read_text(encoding="utf-8"))["vocab"]
        self.espeak, self.cache = espeak, {}

    def word(self, text, voice):
        key = (text, voice)
        if key not in self.cache:
            self.cache[key] = WEAK.get(text) or self.espeak.phonemes(text, voice)
        return self.cache[key]

    def phrase(self, words, rng):
        """(symbol ids, [(first, end)] of each word's ids) for a phrase with random pauses and accent."""
        voice = rng.choice(["en-us", "en-us", "en"])
        single = rng.random() < 0.7
        accent = rng.choice(ACCENTS) if rng.random() < 0.2 else {}
        pause = rng.choices([0.0, 0.12, 0.6, 1.0], [0.4, 0.3, 0.15, 0.15])[0]
        ids, spans = [], []
        for k, text in enumerate(words):
            p = rng.choice(SAID[text]) if text in SAID and rng.random() < 0.5 else self.word(text, voice)
            for old, new in (DIPHTHONGS if single else {}).items():
                p = p.replace(old, new)
            for old, new in accent.items():
                p = p.replace(old, new)
            got = [self.symbols[c] for c in p if c in self.symbols]
            spans.append((len(ids), len(ids) + len(got)))
            ids += got
            if k + 1 < len(words):
                if rng.random() < pause:
                    ids.append(self.symbols[rng.choice([",", ".", ",", ";"])])
                ids.append(self.symbols[" "])
        ids.append(self.symbols[rng.choice([".", ".", ",", "!", "?"])])
        return ids, spans
