"""Open speech: phrases that the vocabulary does not know, for the letters' output. General sentences, names, places, numbers.

Sentences come from Debian packages: fortunes and fortunes-min (many authors, see their copyright files), wordnet-base
(the examples in WordNet 3.0, WordNet licence), r-cran-janeaustenr (Jane Austen's novels, no longer protected). None is
in the repository; what is not installed is left out.
"""
import pathlib
import re
import struct
import zlib
import zoneinfo

import texts
from vocabulary import TOKENS

FORTUNES = pathlib.Path("/usr/share/games/fortunes")
WORDNET = pathlib.Path("/usr/share/wordnet")
AUSTEN = pathlib.Path("/usr/lib/R/site-library/janeaustenr/data/Rdata.rdb")
NAMES = pathlib.Path(__file__).parents[2] / "draft/data/first_names.txt"
LISTED = pathlib.Path(__file__).with_name("first_names.tsv")
LINES = pathlib.Path(__file__).with_name("talk_lines.txt")
LEFT_OUT = {"art", "ascii-art", "perl", "zippy", "translate-me"}  # drawings, programs, other languages
# Whole words that a reader of general English would not say to strangers on the air.
UNFIT = re.compile(r"\b(fuck|shit|cunt|nigg|sex|rape|bitch|whore)\w*")
REGIONS = """alabama|alaska|arizona|arkansas|california|colorado|connecticut|delaware|florida|georgia|hawaii|idaho|illinois|indiana|iowa|kansas|kentucky
louisiana|maine|maryland|massachusetts|michigan|minnesota|mississippi|missouri|montana|nebraska|nevada|ohio|oklahoma|oregon|pennsylvania|tennessee|texas|utah
vermont|virginia|washington|wisconsin|wyoming|ontario|quebec|alberta|manitoba|saskatchewan|england|scotland|wales|ireland|germany|france|spain|portugal|italy
belgium|holland|denmark|sweden|norway|finland|poland|croatia|serbia|slovenia|austria|switzerland|japan|brazil|argentina|mexico|australia|new york|new jersey
new mexico|north carolina|south carolina|north dakota|south dakota|west virginia|rhode island|new hampshire|british columbia|nova scotia|new zealand|puerto rico""".replace("\n", "|").split("|")
BEFORE_NAME = """my name is|the name is|name here is|the name here is|my name's|name is|the handle is|handle here is|operator is|the operator is|op here is
and my name is|my name here is|name this end is|handle's|op is|op|you can call me|the first name is|personal name is|first name|name
this is|they call me|hello|thanks|thank you|ok|roger|good morning|good evening|seventy three|very good|all right|hi there|okay|nice to meet you|well""".replace("\n", "|").split("|")
BEFORE_PLACE = """i'm in|we are in|my location is|location here is|the qth is|qth|here in|copy in|you are five nine in|you are five seven into|coming in fine here in
just north of|south of|about ten miles east of|heading to|on the way to|passing through|near|i'm just outside of|up here in|down in|we're driving to|i live in""".replace("\n", "|").split("|")
ROAD = """coming up on exit {} now|heading {} on interstate {}|i am on highway {}|there is construction for the next {} miles|park is k dash {}|the park number is {}
summit reference is {}|lighthouse number {}|our park is u s dash {}|you're number {} in the log|zone {}|grid square is {}|i was first licensed in {}|it is {} degrees here
running {} watts|the antenna is at {} feet|my rig is about {} years old|i'll be back on at {}|about {} miles from here|it's {} o'clock here|my serial number is {}|age is {}
the frequency is {}|move up to {}|we are at mile marker {}|you are number {} today|i am {} years old|the temperature is {} and the wind is from the north|your number is {}
park reference is k {}|and the second park is k {}|my power is {} watts|we're at {} feet here|copied you as {} is that right|the reference is {} {}|i've got about {} minutes left""".replace("\n", "|").split("|")
TALK = """i'll turn it back to you|how's the weather over there|we've had rain since yesterday|you've got a good signal into {place}|thanks {name} for the report
fine business {name}|good copy on everything {name}|what are you running there {name}|i think you're a little stronger now|there's some fading on you|say your name once more please
i didn't catch the last part|could you spell the name please|please spell your name|i'm parked beside the road|i'm driving so i can't write it down|let me check the map
you dropped into the noise for a second|i had you perfectly the first time|that's a good signal for a mobile|the antenna's just a whip on the trunk lid|your audio sounds great {name}
okay {name} i won't hold you|drive carefully and thanks for the contact|have a good trip {name}|i've been to {place} once|my wife's family comes from {place}
it's my first contact with {place}|we're on our way to {place}|i'm on a hill just outside of {place}|i used to work down in {place}|greetings from {place}
this is {name} in {place}|the name's {name} and i'm in {place}|{name} is the name {place} is the place|i'm using a dipole about thirty feet up|running barefoot here
the rig's an old one but it works|i'm running a small amplifier|solid copy|that's a roger|didn't get all of it|you're booming in here in {place}|barely readable but i got you
we're having lunch at the rest area|traffic's pretty heavy today|i'll be home in about an hour|my battery's getting low|sorry i had to stop at a light|the kids are asleep in the back
hope to work you again {name}|say hello to {name} for me|are you still there {name}|{name} are you hearing anyone else|nothing heard|the frequency is busy|is this frequency in use
i'm pointing the beam at {place}|the band's going out i think|conditions are up and down today|i'll look you up when i get home|you're in the log|many thanks for calling me
i'm retired now|i've been a ham since i was a kid|what part of {place} are you in|how far is that from {place}|we're expecting snow tonight|it's clear and cold here
we've got about twenty stations on the net|{name} you're next|anyone else for the net|back to net control|nothing further for the net|i'll be listening on the side""".replace("\n", "|").split("|")


def clean(text):
    """Small letters, apostrophes and single spaces; nothing else."""
    text = re.sub(r"[^a-z' ]+", " ", text.lower().replace("’", "'").replace("`", "'"))
    text = re.sub(r"(?<![a-z])'|'(?![a-z])", " ", text)
    return re.sub(r"\s+", " ", text).strip()


def clauses(text, most=14):
    """Pieces of 4 to `most` words between punctuation, without figures or marks that nobody can say."""
    out = []
    for piece in re.split(r"[.!?;:,()\"“”]+\s*|\n\n|--+", text.replace("\r", "")):
        piece = piece.replace("\n", " ")
        if re.search(r"[0-9_/\\|<>@#{}\[\]*=+~^&%$]", piece) or UNFIT.search(piece.lower()):
            continue
        said = clean(piece).split()
        while len(said) > most:
            out.append(said[: most - 3])
            said = said[most - 3 :]
        out.append(said)
    return [" ".join(w) for w in out if len(w) >= 4 and sum(map(len, w)) / len(w) < 8 and max(map(len, w)) < 18]


def austen():
    """The novels' lines out of R's packed file: deflated pieces, in which each string is marked by its type and length."""
    data, at, lines = AUSTEN.read_bytes(), 0, []
    while (begin := data.find(b"\x78\x9c", at)) >= 0:
        inflate = zlib.decompressobj()
        try:
            raw = inflate.decompress(data[begin:])
        except zlib.error:
            at = begin + 1
            continue
        at = len(data) - len(inflate.unused_data)
        for found in re.finditer(rb"\x00.\x00\x09(....)", raw, re.DOTALL):
            size = struct.unpack(">i", found[1])[0]
            if 0 <= size < 400:
                lines.append(raw[found.end() : found.end() + size].decode("utf-8", "replace"))
    return "\n".join(lines).replace("\n\n", "\0").replace("\n", " ").replace("\0", "\n\n")


def sentences(austen_share=40000, rng=None):
    """General sentences, each once. Of the novels only `austen_share`, drawn by `rng`, so that they do not drown the rest."""
    out = []
    for file in sorted(FORTUNES.glob("*")):
        if file.suffix == "" and file.name not in LEFT_OUT:
            for saying in file.read_text(encoding="utf-8", errors="replace").split("\n%\n"):
                out += clauses(saying.split("\n\t\t--")[0])
    for file in sorted(WORDNET.glob("data.*")):
        for line in file.read_text(encoding="utf-8", errors="replace").splitlines():
            for example in re.findall(r'"([^"]+)"', line.partition("|")[2]):
                out += clauses(example)
    if AUSTEN.exists():
        novels = sorted(set(clauses(austen())))
        out += rng.sample(novels, min(austen_share, len(novels))) if rng else novels
    return sorted(set(out))


def given_names():
    return [n for n in NAMES.read_text(encoding="utf-8").lower().split() if n.isalpha()]


def listed_names():
    """The list that is searched where somebody says a name, each name in plain letters."""
    return [line.split("\t")[0] for line in LISTED.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]


def cities():
    """City names of the time zone table."""
    zones = [z for z in zoneinfo.available_timezones() if "/" in z and not re.search(r"[0-9+]|etc|gmt|systemv|us/", z.lower())]
    return sorted({z.split("/")[-1].replace("_", " ").replace("-", " ").lower() for z in zones})


def talk_lines():
    """Lines of ordinary talk on the air, written for this training by hand, with places for names, signs and numbers in braces."""
    return [line for line in LINES.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")]


class Open:
    """Draws phrases of open speech: [(spoken word, output)], as `texts` does. `share` of them are general sentences."""

    def __init__(self, rng):
        self.rng, self.general, self.names, self.places = rng, sentences(rng=rng), given_names(), REGIONS + cities()
        self.listed = listed_names()
        self.known = [t.spoken[0] for t in TOKENS if t.is_name and t.kind not in ("itu", "other")]
        if len(self.general) < 10000:
            raise OSError("too few sentences: install the Debian packages that open_texts.py names")
        rng.shuffle(self.general)
        self.lines = talk_lines()
        self.next = 0

    def sentence(self):
        self.next += 1
        return texts.plain(self.general[self.next % len(self.general)])

    def spelled(self, word):
        return texts.spell(word.upper(), self.rng, self.rng.choices(["itu", "letter", "other", "mixed"], [0.35, 0.45, 0.1, 0.1])[0])

    def who(self):
        """A first name: one that the words' output knows, one of the project's own, or any of the long list."""
        return self.rng.choice(self.rng.choices((self.known, self.names, self.listed), (0.25, 0.25, 0.5))[0])

    def named(self):
        rng, who = self.rng, self.who()
        out, k = texts.plain(rng.choice(BEFORE_NAME)) + texts.plain(who), rng.random()
        if rng.random() < 0.2:
            out = texts.report(rng) + out
        if k < 0.3:
            return out + self.spelled(who)
        if k < 0.5:
            return out + texts.plain(rng.choice(["in", "near", "over here in", "up here in", "just outside of", "from"])) + texts.plain(rng.choice(self.places))
        return out + (texts.plain("for short") if k < 0.56 else [])

    def placed(self):
        rng, where = self.rng, self.rng.choice(self.places)
        out = texts.plain(rng.choice(BEFORE_PLACE)) + texts.plain(where)
        if rng.random() < 0.15:
            return out + self.spelled(where.replace(" ", ""))
        return out + (texts.plain(rng.choice(REGIONS)) if rng.random() < 0.3 else [])

    def numbered(self):
        out, rng = [], self.rng
        for w in rng.choice(ROAD).split():
            if w != "{}":
                out += texts.plain(w)
            elif rng.random() < 0.75:
                out += texts.number(rng)
            else:
                out += texts.spell("".join(rng.choices(texts.LETTERS, k=2) + rng.choices(texts.FIGURES, k=rng.choice([2, 3]))), rng)
        return out

    def talk(self):
        """One of the short lines above, or of the written ones: at most 14 words on from a random place."""
        rng = self.rng
        line = (rng.choice(TALK) if rng.random() < 0.15 else rng.choice(self.lines)).split()
        if len(line) > 14:
            first = rng.choice([0, rng.randrange(len(line) - 9)])
            line = line[first : first + 14]
        who, out = self.who(), []
        for w in line:
            out += self.filled(w[1:-1], who) if w.startswith("{") else texts.plain(w)
        return out

    def filled(self, slot, who):
        """What is said where a line leaves a place."""
        rng = self.rng
        if slot == "name":
            return texts.plain(who)
        if slot == "place":
            return texts.plain(rng.choice(self.places))
        if slot == "letters":
            return self.spelled(who.replace(" ", ""))
        if slot == "letter":
            return texts.spell(rng.choice(texts.LETTERS), rng)
        if slot == "sign":
            return texts.spell(texts.sign(rng), rng)
        if slot == "report":
            return texts.report(rng)[-2:]
        return texts.number(rng)

    def letters(self):
        """Letters and figures by name, as people spell a word or give a number."""
        rng = self.rng
        if rng.random() < 0.5:
            return self.spelled((self.who() if rng.random() < 0.5 else rng.choice(self.places)).replace(" ", ""))
        text = "".join(rng.choices(texts.LETTERS + texts.FIGURES, [1] * 26 + [1.5] * 10, k=rng.choice([2, 3, 4, 5, 6, 7])))
        return texts.spell(text, rng, "letter")

    def phrase(self):
        """One utterance of the whole training: the project's phrases and open speech."""
        k = self.rng.random()
        for limit, make in ((0.34, lambda: texts.phrase(self.rng)), (0.40, lambda: texts.report(self.rng)), (0.56, self.sentence), (0.72, self.named), (0.76, self.placed), (0.80, self.numbered), (0.97, self.talk)):
            if k < limit:
                return make()
        return self.letters()
