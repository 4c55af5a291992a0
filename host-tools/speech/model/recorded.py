"""Real people's words for training: folders of single words, listed with what each one is.

- Free Spoken Digit Dataset (Z. Jackson and others, CC BY-SA 4.0): figures by four speakers; one is held out for judging.
- Debian asterisk-core-sounds-fr-wav (June Wallack, CC BY-SA 3.0): the spelling words, said by a Canadian French speaker.
- Debian klettres-data (GPL-2.0+): the letters by an English and a British speaker.
Debian asterisk-core-sounds-en-wav is never read here: it is for judging.
"""
import pathlib

from vocabulary import OUTPUT, by_symbol

HELD_OUT_DIGITS = "s3-us"


def words(digits=None, asterisk_fr=None, klettres=None):
    """[(path, speaker, output)] of every recorded word in the given folders."""
    out = []
    if digits:
        for path in sorted(pathlib.Path(digits).glob("*/*.wav")):
            if path.parent.name != HELD_OUT_DIGITS:
                out.append((path, path.parent.name, OUTPUT[by_symbol(path.name[0], "figure")[0]]))
    if asterisk_fr:
        for path in sorted((pathlib.Path(asterisk_fr) / "phonetic").glob("?_p.wav")):
            out.append((path, "asterisk-fr", OUTPUT[by_symbol(path.name[0].upper(), "itu")[0]]))
    if klettres:
        for language in ("en", "en_GB"):
            for path in sorted((pathlib.Path(klettres) / language / "alpha").glob("*.ogg")):
                if len(path.stem) == 1 and path.stem.isascii() and path.stem.isalpha():
                    out.append((path, f"klettres-{language}", OUTPUT["letter-" + path.stem.lower()]))
    return out
