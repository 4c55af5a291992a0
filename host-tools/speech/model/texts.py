"""What is said: random phrases of voice contacts, word by word, each word with the model output that it teaches.

A phrase is a list of (spoken word, output). Spoken words are plain English for a speech synthesiser; a single
capital letter is said as its name. Nothing here knows of voices or samples.
"""
import random

from vocabulary import OUTPUT, OTHER_WORD, TOKENS, by_symbol, output_of

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
FIGURES = "0123456789"
SPOKEN = {t.name: t.spoken for t in TOKENS}
NAMES = [t.name for t in TOKENS if t.is_name]
NUMBERS = {t.symbol: t.name for t in TOKENS if t.kind == "number" and t.symbol}

# Ordinary talk: none of it is to come out as letters. Words that are in the table teach their own token.
TALK = """the weather here is sunny and warm|running about one hundred watts into a wire|we are heading down the interstate
good signal up here today|a little noise on the band|the antenna is a vertical on the roof of the car|have a great day and drive safely
my location is near the river|working a bit on the road this afternoon|the radio is doing just fine|i will turn it back to you
you were fading but came right back up|thanks for coming back to my call|just passing through the mountains|the band is in good shape
did you copy all of that|stand by one moment please|lots of traffic around here|nice to meet you|my rig is in the trunk of the car
it is raining pretty hard|are you there|go ahead|please say again your call|let me know how you copy|we had snow last night about four inches
i have been licensed for thirty two years|the wife says hello|i am on highway forty going west|exit twenty seven is coming up
temperature is seventy two degrees and the wind is calm|i used to live over there many years ago|that is a fine business station you have
there is a truck beside me so hang on|the battery was low this morning|we are going to the hospital to see my brother|see you further down the log
the dog is asleep on the back seat|i will be parked here for a while|what kind of antenna are you using|it is a homebrew loop about ten feet up
i am using the old tube rig tonight|the sun came up an hour ago|propagation has been poor all week|they closed the bridge last week
we can try again tomorrow at the same time|somebody is tuning up on the frequency|the noise level is about five|i can barely hear you in the noise
you have a very strong signal into the south|how do you hear me now|i did not get your name|that is all i have for you|take care and be safe
can you give me a report please|i will listen for any other station|the next station please come now|who is calling please|is this frequency in use
turn left at the next light|we had lunch at a little place by the lake|my son plays football for the school team|the price of fuel is up again
i am retired from the railroad|he moved up to the north last winter|she is driving and i am on the radio|we will be home by six in the evening
the repeater is on the hill above town|there was a bad accident on the freeway|the club meets every second tuesday|bring a chair and some coffee
the amplifier is off so this is barefoot|i had to lower the power a bit|the microphone is new so tell me how it sounds|your audio is very nice and clear
i think we worked before maybe last year|let me write that down|hold on a second|okay fine business on that|that is correct|no problem at all
well it is getting late so i will let you go|say hello to everybody for me|i am looking at the map right now|it is about twenty miles from here""".replace("\n", "|").split("|")
PLACES = "texas ohio virginia nevada ontario alberta florida georgia maine oregon iowa kansas colorado wyoming arizona bavaria scotland wales normandy sicily".split() + ["new mexico", "west virginia", "south dakota", "new york", "northern ireland"]


def word(token, rng):
    """(spoken words, output) of one token; 'q r z' is said as three letter names."""
    forms = SPOKEN[token]
    spoken = forms[0] if rng.random() < 0.8 else rng.choice(forms)
    if OUTPUT[token] and all(len(w) == 1 for w in spoken.split()):
        spoken = spoken.upper()
    return (spoken, OUTPUT[token])


def plain(text):
    """Words of ordinary text."""
    return [(w, output_of(w)) for w in text.split()]


def sign(rng):
    """A random call sign: usual shapes, letters and figures drawn evenly; one in nine has a suffix."""
    r, letter, figure = rng.random(), lambda: rng.choice(LETTERS), lambda: rng.choice(FIGURES)
    if r < 0.35:
        prefix = rng.choice("KNWAGFIM") if rng.random() < 0.4 else letter()
    elif r < 0.85:
        prefix = letter() + letter()
    elif r < 0.95:
        prefix = figure() + letter()
    else:
        prefix = letter() + figure()
    return prefix + figure() + "".join(letter() for _ in range(rng.choice([1, 2, 2, 3, 3, 3, 4] if rng.random() < 0.9 else [2, 3])))


def spell(text, rng, style=None):
    """Words for spelling `text`: ITU words, alternatives, or plain letters; mixtures are rarer."""
    style = style or rng.choices(["itu", "other", "letter", "mixed"], [0.66, 0.14, 0.12, 0.08])[0]
    out = []
    for symbol in text:
        if symbol.isdigit():
            if symbol == "0" and rng.random() < 0.12:
                out.append(("O", OUTPUT["letter-o"]))
            else:
                out.append(word(by_symbol(symbol, "figure")[0], rng))
            continue
        kind = style
        if style == "other":
            kind = "other" if rng.random() < 0.75 else "itu"
        elif style == "mixed":
            kind = rng.choice(["itu", "itu", "other", "letter"])
        out.append(word(rng.choice(by_symbol(symbol, kind)), rng))
    return out


def number(rng):
    """A spoken number as in talk or a reference."""
    n = rng.random()
    if n < 0.35:
        return [word(by_symbol(c, "figure")[0], rng) for c in str(rng.randrange(10, 9999))]
    if n < 0.75:
        tens, unit = rng.choice(list(range(20, 100, 10))), rng.choice("0123456789")
        return [word(NUMBERS[str(tens)], rng)] + ([word(by_symbol(unit, "figure")[0], rng)] if unit != "0" else [])
    if n < 0.9:
        return [word(NUMBERS[str(rng.randrange(10, 20))], rng)]
    return [word(by_symbol(rng.choice("123456789"), "figure")[0], rng), word(rng.choice(["hundred", "thousand", "point"]), rng)] + ([] if rng.random() < 0.5 else [word(by_symbol(rng.choice("123456789"), "figure")[0], rng)])


def report(rng):
    """'you are five nine in Ohio' in its many forms."""
    r, s = rng.choice("5555543"), rng.choice("99999877654321")
    f = lambda c: word(by_symbol(c, "figure")[0], rng)
    k = rng.random()
    if k < 0.5:
        value = [f(r), f(s)]
    elif k < 0.7:
        value = [f(r), *plain("and"), f(s)]
    elif k < 0.85:
        value = [word(NUMBERS[r + "0"], rng), f(s)]
    elif k < 0.93:
        value = [f(r), f(s), word("plus", rng), word(rng.choice(["ten", "twenty"]), rng)]
    else:
        value = [f(r), f(s)] * 2
    before = plain(rng.choice(["you are", "you're", "you are a", "your report is", "your signal is", "you are also", "report is", "you are coming in", "copy you", "thanks for the", "roger you are"]))
    after = plain(rng.choice(["", "", "in", "into", "here in"]))
    return before + value + (after + plain(rng.choice(PLACES)) if after else [])


def name(rng):
    """'name here is Ruth, Romeo Uniform Tango Hotel'."""
    who = rng.choice(NAMES)
    out = plain(rng.choice(["name is", "name here is", "my name is", "the name is", "name", "this is", "old man here is", "thanks"])) + [word(who, rng)]
    if rng.random() < 0.25:
        out += [word(who, rng)]
    if rng.random() < 0.3 and "-" not in who:
        out += spell(who.upper(), rng)
    return out


def suffix(rng):
    return [word(rng.choice(["mobile", "portable", "stroke", "slash", "maritime"]), rng)] if rng.random() < 0.6 else [word(rng.choice(["stroke", "slash"]), rng)] + spell(rng.choice("MPAB0123456789"), rng)


def over(rng):
    """One phrase of a contact."""
    call, k = sign(rng), rng.random()
    mine = lambda: spell(call, rng) + (suffix(rng) if rng.random() < 0.15 else [])
    de = lambda: plain(rng.choice(["this is", "this is", "from", "here is", ""]))
    if k < 0.13:
        return [word("cq", rng)] * rng.choice([1, 2, 3]) + plain(rng.choice(["", "calling", "twenty meters", "mobile"])) + de() + mine() + plain(rng.choice(["", "standing by", "calling and standing by", "over", "listening"]))
    if k < 0.27:
        return mine() + de() + spell(sign(rng), rng) + (suffix(rng) if rng.random() < 0.2 else [])
    if k < 0.42:
        return (mine() if rng.random() < 0.7 else plain(rng.choice(["roger roger", "good morning", "thanks for the call", "okay"]))) + report(rng)
    if k < 0.52:
        return name(rng) + (plain(rng.choice(TALK)) if rng.random() < 0.3 else [])
    if k < 0.59:
        return plain(rng.choice(["thanks for the call", "thank you very much", "roger", "thanks old man", "good contact"])) + rng.choice([[word("seventy", rng), word("three", rng)], [word("seventy", rng), word("three", rng)], [word("eighty", rng), word("eight", rng)]]) + (mine() if rng.random() < 0.7 else []) + plain(rng.choice(["", "clear", "over"]))
    if k < 0.64:
        return [word("qrz", rng)] + de() + mine() + plain(rng.choice(["", "", "standing by", "over"]))
    if k < 0.72:
        part = call[: rng.randrange(1, len(call))] if rng.random() < 0.5 else call[rng.randrange(1, len(call)) :]
        return spell(part, rng) + plain(rng.choice(["again please", "say again", "please say again your call", "break", "go ahead", "station again", "negative", "roger"]))
    if k < 0.78:
        return spell(call, rng) + plain(rng.choice(["negative", "correction", "no no", "again", "i say again", "that is"])) + spell(call, rng)
    if k < 0.83:
        return plain(rng.choice(["grid square", "my grid is", "locator", "in grid"])) + spell(rng.choice(LETTERS[:18]) + rng.choice(LETTERS[:18]) + rng.choice(FIGURES) + rng.choice(FIGURES) + (rng.choice(LETTERS) + rng.choice(LETTERS) if rng.random() < 0.4 else ""), rng)
    if k < 0.88:
        return plain(rng.choice(["your number is", "serial number", "reference", "park number", "summit reference", "special event station number", "check in number", "qth is mile"])) + number(rng) + number(rng)
    if k < 0.94:
        return plain(rng.choice(TALK)) + mine()
    return plain(rng.choice(TALK)) + plain(rng.choice(TALK))


def random_words(rng):
    """Table words in no order at all: what a word sounds like must not hang on its neighbours."""
    return [word(t.name, rng) for t in rng.choices(TOKENS[:-1], k=rng.choice([3, 4, 5, 6]))]


def phrase(rng):
    """One utterance of the training speech."""
    k = rng.random()
    if k < 0.34:
        return spell(sign(rng), rng)
    if k < 0.42:
        return spell("".join(rng.choice(FIGURES) for _ in range(rng.choice([2, 3, 4, 6]))), rng)
    if k < 0.50:
        return spell("".join(rng.choice(LETTERS) for _ in range(rng.choice([1, 3, 5]))), rng)
    if k < 0.58:
        return random_words(rng)
    return over(rng)


def single_words(rng, count):
    """Words for an isolated-word bank: every symbol word and figure, plus a random share of the others."""
    core = [t for t in TOKENS if t.kind in ("itu", "figure", "letter")]
    rest = [t for t in TOKENS if t.kind in ("other", "number", "word", "name")]
    return [word(t.name, rng) for t in core + rng.sample(rest, count)]
