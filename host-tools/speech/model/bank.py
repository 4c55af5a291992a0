"""The speech bank: one long run of 8 kHz samples, and where each word in it begins, ends, what it teaches and how it is written."""
import numpy as np

RATE = 8000
LEVEL = 0.1  # root mean square of the active part of every utterance


def active_level(x, frame=160):
    """Root mean square over the frames within 25 dB of the loudest twentieth (x: float samples at 8 kHz)."""
    n = len(x) // frame
    if n == 0:
        return float(np.sqrt(np.mean(x**2) + 1e-12))
    power = (x[: n * frame].reshape(n, frame) ** 2).mean(1)
    return float(np.sqrt(power[power >= np.percentile(power, 95) * 10**-2.5].mean() + 1e-12))


def trim(x, frame=80):
    """First and end sample of the audible part: within 40 dB of the loudest frame, with 20 ms of margin."""
    n = len(x) // frame
    if n < 2:
        return 0, len(x)
    power = (x[: n * frame].reshape(n, frame) ** 2).mean(1)
    loud = np.flatnonzero(power > power.max() * 1e-4)
    return max(0, (loud[0] - 2) * frame), min(len(x), (loud[-1] + 3) * frame)


class Bank:
    """Utterances are appended, then frozen into arrays.

    words: int32 (n, 4): first sample, end sample, model output, utterance. utterances: int32 (m, 3): first word, words, speaker.
    texts: each word as it is written, small letters; a single letter is said as its name.
    """

    def __init__(self):
        self.parts, self.words, self.texts, self.utterances, self.speakers, self.at = [], [], [], [], {}, 0

    def add(self, samples, words, speaker):
        """samples: float at 8 kHz; words: [(first, end, output, text)] in samples of this utterance."""
        samples = samples * (LEVEL / active_level(samples))
        self.parts.append((np.clip(samples, -1, 1) * 32767).astype(np.int16))
        number = self.speakers.setdefault(speaker, len(self.speakers))
        self.utterances.append((len(self.words), len(words), number))
        for first, end, output, text in words:
            self.texts.append(text.lower())
            self.words.append((self.at + max(0, int(first)), self.at + min(len(samples), int(end)), output, len(self.utterances) - 1))
        self.at += len(samples)

    def arrays(self):
        names = sorted(self.speakers, key=self.speakers.get)
        return dict(samples=np.concatenate(self.parts), words=np.array(self.words, np.int32), utterances=np.array(self.utterances, np.int32), speakers=np.array(names), texts=np.array(self.texts))


def join(banks):
    """One bank (as arrays) out of several."""
    out, at, words, utterances, names = [], 0, 0, 0, []
    samples = [b["samples"] for b in banks]
    all_words, all_utterances = [], []
    for b in banks:
        all_words.append(b["words"] + np.array([at, at, 0, utterances], np.int64))
        all_utterances.append(b["utterances"] + np.array([words, 0, len(names)], np.int64))
        at, words, utterances, names = at + len(b["samples"]), words + len(b["words"]), utterances + len(b["utterances"]), names + list(b["speakers"])
    return dict(samples=np.concatenate(samples), words=np.concatenate(all_words).astype(np.int64), utterances=np.concatenate(all_utterances).astype(np.int64), speakers=np.array(names), texts=np.concatenate([b["texts"] for b in banks]))


def packed(samples):
    """int16 samples as eight bits of mu-law: real recordings travel to the training machine so."""
    x = samples.astype(np.float32) / 32768
    return np.round((np.sign(x) * np.log1p(255 * np.abs(x)) / np.log(256) + 1) * 127.5).astype(np.uint8)


def unpacked(samples):
    """int16 samples out of `packed` ones; int16 ones as they are."""
    if samples.dtype != np.uint8:
        return samples
    y = samples.astype(np.float32) / 127.5 - 1
    return (np.sign(y) * (np.exp(np.abs(y) * np.log(256)) - 1) / 255 * 32767).astype(np.int16)
