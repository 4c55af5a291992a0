"""Lays out the folder of recordings that people.py reads, from clones of the public sets (MODEL.md names them and their licences).

Run: python recordings.py CLONES RECORDINGS
CLONES holds, each under the last part of its address, what is there of: speechocean762, myrepo (Common Voice's first release),
rsample-100-cv-corpus-6.1-2020-12-11 (a later one), delta13 (Common Voice's delta segment 13.0, the folder dataset/ of
github.com/korliu/whisper), alphanumeric-audio-dataset, lj_speech_dataset_part_1; and many-readers, a folder of anyone's open
speech without transcripts. The recordings are linked, not copied. What has no text is given an empty one: label.py writes it. Texts keep small letters and the apostrophe; an utterance whose text holds anything else, a figure written as
a figure for instance, is left out, because how it was said is not known.
"""
import argparse
import csv
import pathlib
import re

FIGURES = "zero one two three four five six seven eight nine".split()
PLAIN = re.compile(r"[a-z']+( [a-z']+)*")


def plain(text):
    """The text in small letters without its punctuation, or None where something of it would have to be guessed."""
    text = re.sub(r"[.,;:!?\"()]|--", " ", text.replace("’", "'").replace("-", " ")).lower()
    text = " ".join(w.strip("'") if w in ("'", "''") else w for w in text.split())
    return text if PLAIN.fullmatch(text) else None


def accented(folder):
    """speechocean762: (file, speaker, text)."""
    for part in ("train", "test"):
        read = lambda name: dict(line.split(maxsplit=1) for line in (folder / part / name).read_text(encoding="utf-8").splitlines())
        speakers, files = read("utt2spk"), read("wav.scp")
        for utterance, text in read("text").items():
            yield folder / files[utterance], speakers[utterance], plain(text)


def clips(folder):
    """Common Voice's first release, the development part: no speakers are given, so each clip is its own."""
    with open(folder / "asr/cv-valid-dev.csv", encoding="utf-8", newline="") as rows:
        for row in csv.DictReader(rows):
            if int(row["up_votes"]) > int(row["down_votes"]):
                yield folder / "asr" / row["filename"], pathlib.Path(row["filename"]).stem, plain(row["text"])


def later_clips(folder):
    with open(folder / "en/validated.tsv", encoding="utf-8", newline="") as rows:
        for row in csv.DictReader(rows, delimiter="\t", quoting=csv.QUOTE_NONE):
            yield folder / "en/clips" / row["path"], row["client_id"][:12] + "x", plain(row["sentence"])


def delta_clips(folder):
    """Those whose sentence is known, with it; the others, but for those that listeners rejected, without."""

    def table(name):
        with open(folder / f"dataset/{name}.tsv", encoding="utf-8", newline="") as rows:
            yield from csv.DictReader(rows, delimiter="\t", quoting=csv.QUOTE_NONE)

    known = {row["path"] for row in table("invalidated")}
    for row in table("validated"):
        known.add(row["path"])
        yield folder / "dataset/clips" / row["path"], row["client_id"][:12] + "d", plain(row["sentence"])
    for path in sorted((folder / "dataset/clips").iterdir()):
        if path.name not in known:
            yield path, path.stem, ""


def untold(folder):
    """Speech without transcripts; a file's name up to the first '-' or '_' is its speaker."""
    for path in sorted(folder.rglob("*.opus")):
        yield path, "many-" + re.split("[-_]", path.stem)[0], ""


def reader(folder):
    """LJ Speech, as much of it as is there: (file, speaker, text)."""
    for line in (folder / "LJSpeech-1.1/metadata.csv").read_text(encoding="utf-8").splitlines():
        name, _, text = line.split("|")
        yield folder / f"LJSpeech-1.1/wavs/{name}.wav", "lj", plain(text)


def spelled(folder):
    """The alphanumeric set: names spelled letter by letter, and numbers in which no nought may have been said as 'oh'."""
    with open(folder / "metadata.csv", encoding="utf-8", newline="") as rows:
        for row in csv.DictReader(rows):
            path, person = folder / row["file_name"], row["Response_ID"]
            if "/Names/" in row["file_name"]:
                yield path, person, plain(" ".join(row["Name"].replace(" ", "")))
            if "/Numbers/" in row["file_name"] and row["Number"].isdigit() and "0" not in row["Number"]:
                yield path, person, " ".join(FIGURES[int(f)] for f in row["Number"])


SETS = {
    "accented": [("speechocean762", accented)],
    "talkers": [("myrepo", clips), ("rsample-100-cv-corpus-6.1-2020-12-11", later_clips), ("delta13", delta_clips), ("many-readers", untold), ("lj_speech_dataset_part_1", reader)],
    "spelled": [("alphanumeric-audio-dataset", spelled)],
}


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("clones", type=pathlib.Path)
    p.add_argument("recordings", type=pathlib.Path)
    args = p.parse_args()
    for kind, parts in SETS.items():
        out = args.recordings / kind
        out.mkdir(parents=True, exist_ok=True)
        table = out / "transcripts.tsv"
        kept = table.read_text(encoding="utf-8").splitlines() if table.exists() else []
        known, new = {line.split("\t")[0] for line in kept}, 0
        for name, read in parts:
            if not (args.clones / name).exists():
                continue
            for path, speaker, text in read(args.clones / name):
                file = f"{name[:8]}-{path.parent.name}-{path.name}"
                if text is None or file in known or not path.exists():
                    continue
                if not (out / file).is_symlink():
                    (out / file).symlink_to(path.resolve())
                kept.append(f"{file}\t{speaker}\t{text}")
                new += 1
        table.write_text("".join(line + "\n" for line in kept), encoding="utf-8")
        print(f"{kind}: {new} utterances new, {len(kept)} in all")


if __name__ == "__main__":
    main()
