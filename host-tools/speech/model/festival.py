"""Speech of the classical festival voices (Debian festival, festvox-*), with word times, into one folder.

Run: python festival.py FOLDER [PHRASES]. Writes FOLDER/<n>.wav and FOLDER/index.json: [{file, speaker, words: [[first s, end s, output, word]]}].
"""
import json
import pathlib
import random
import re
import subprocess
import sys

import texts

VOICES = ["voice_kal_diphone", "voice_ked_diphone", "voice_cmu_us_slt_arctic_hts"]
HEAD = """(define (say file text stretch)
  (Parameter.set 'Duration_Stretch stretch)
  (let ((u (utt.synth (eval (list 'Utterance 'Text text)))))
    (utt.save.wave u file 'riff)
    (format t "@ %s" file)
    (mapcar (lambda (w) (format t " %s:%f:%f" (item.name w) (item.feat w 'word_start) (item.feat w 'word_end))) (utt.relation.items u 'Word))
    (format t "\\n")))
"""


def main(folder, phrases):
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    rng = random.Random(7)
    index, count = [], 0
    for voice in VOICES:
        said = [[w] for w in texts.single_words(rng, 150)] + [texts.phrase(rng) for _ in range(phrases)]
        script, wanted = [HEAD, f"({voice})"], {}
        for phrase in said:
            name = f"{count:05d}.wav"
            count += 1
            text = " ".join(w for w, _ in phrase)
            script.append(f'(say "{folder / name}" "{text}" {rng.uniform(0.8, 1.25):.2f})')
            wanted[name] = phrase
        run = subprocess.run(["festival", "--pipe"], input="\n".join(script), capture_output=True, text=True, check=False)
        for line in run.stdout.splitlines():
            found = re.match(r".*@ (\S+) (.*)", line)
            if not found:
                continue
            name = pathlib.Path(found[1]).name
            spans = [w.rsplit(":", 2) for w in found[2].split()]
            words = [(w, o) for w, o in wanted[name]]
            flat = [(part, o) for w, o in words for part in [w]]
            if len(spans) == len(flat):
                index.append({"file": name, "speaker": voice, "words": [[float(a), float(b), o, w] for (_, a, b), (w, o) in zip(spans, flat)]})
    (folder / "index.json").write_text(json.dumps(index), encoding="utf-8")
    print(f"{len(index)} of {count} utterances of festival in {folder}")


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 500)
