"""espeak-ng through its C library (PyPI espeakng-loader, GPL-3.0): phonemes for Kokoro, and speech of its own."""
import ctypes
import re

import espeakng_loader
import numpy as np

RATE = 22050
WORD_EVENT = 1


class Event(ctypes.Structure):
    """espeak_EVENT of speak_lib.h, API 12."""

    _fields_ = [("type", ctypes.c_int), ("unique", ctypes.c_uint), ("text_position", ctypes.c_int), ("length", ctypes.c_int),
                ("audio_ms", ctypes.c_int), ("sample", ctypes.c_int), ("user", ctypes.c_void_p), ("id", ctypes.c_uint64)]


# Spellings that make espeak-ng say a spelling word as the published table or an accent has it.
RESPELT = {"quebec": ["kebeck", "kaybeck", "kehbeck"], "papa": ["pahpah", "puppah"], "juliet": ["julliet", "joolyet"], "golf": ["gawlf", "gulf"], "hotel": ["hohtel"],
           "charlie": ["sharlee"], "lima": ["leemah"], "oscar": ["osscah"], "zero": ["zeeroh"], "alpha": ["alfah"], "delta": ["deltah"], "uniform": ["oonyform"]}
CALLBACK = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.POINTER(Event))


class Espeak:
    """One instance a process: the library is a singleton."""

    def __init__(self):
        self.lib = ctypes.CDLL(espeakng_loader.get_library_path())
        self.lib.espeak_TextToPhonemes.restype = ctypes.c_char_p
        rate = self.lib.espeak_Initialize(2, 400, espeakng_loader.get_data_path().encode(), 0)  # 2: samples to the callback
        if rate != RATE:
            raise OSError(f"espeak-ng did not start (sample rate {rate}); is espeakng-loader installed whole?")
        self.callback = CALLBACK(self._samples)  # kept: the library holds only a bare pointer
        self.lib.espeak_SetSynthCallback(self.callback)

    def _samples(self, wav, count, events):
        if wav and count:
            self.parts.append(np.ctypeslib.as_array(wav, (count,)).copy())
        k = 0
        while events[k].type:
            if events[k].type == WORD_EVENT:
                self.words.append((events[k].text_position - 1, events[k].sample))
            k += 1
        return 0

    def voice(self, name):
        if self.lib.espeak_SetVoiceByName(name.encode()):
            raise ValueError(f"espeak-ng has no voice {name}")

    def phonemes(self, text, voice="en-us"):
        """IPA of one word as an isolated word."""
        self.voice(voice)
        data = ctypes.c_char_p(text.encode())
        out = []
        while data.value:
            got = self.lib.espeak_TextToPhonemes(ctypes.byref(data), 1, 2)  # UTF-8 in, IPA out
            out.append(got.decode())
        return re.sub(r"[_‍]", "", " ".join(out)).strip()

    def speak(self, text, speed=175, pitch=50, spread=50):
        """(int16 samples at 22,050 Hz, [(character, sample)] of word starts)."""
        self.parts, self.words = [], []
        for parameter, value in ((1, speed), (3, pitch), (4, spread)):
            self.lib.espeak_SetParameter(parameter, int(value), 0)
        data = text.encode()
        self.lib.espeak_Synth(data, len(data) + 1, 0, 1, 0, 1, None, None)
        self.lib.espeak_Synchronize()
        return (np.concatenate(self.parts) if self.parts else np.zeros(0, np.int16)), self.words


def respelt(word, rng):
    """The word, or now and then another spelling of it."""
    return rng.choice(RESPELT[word]) if word in RESPELT and rng.random() < 0.5 else word


def voices(rng, count):
    """`count` random voices: accent of English, timbre variant, pitch and speed."""
    accents = ["en-us", "en-us", "en", "en-gb-x-rp", "en-gb-scotland", "en-029", "en-gb-x-gbclan", "en-gb-x-gbcwmd", "en-us-nyc"]
    variants = ["", "+m1", "+m2", "+m3", "+m4", "+m5", "+m6", "+m7", "+f1", "+f2", "+f3", "+f4", "+f5", "+klatt", "+klatt2", "+klatt3", "+Andy", "+Annie", "+Denis", "+Diogo", "+Gene", "+Jacky", "+Lee", "+Mario", "+Michael", "+Mr serious", "+Steph", "+Storm", "+Tweaky", "+aunty", "+boris", "+caleb", "+david", "+ed", "+edward", "+edward2", "+grandma", "+grandpa", "+iven", "+john", "+linda", "+michel", "+miguel", "+norbert", "+pablo", "+paul", "+quincy", "+rob", "+robert", "+rosie", "+sandro", "+shelby", "+steph", "+travis", "+victor", "+zac"]
    return [(rng.choice(accents) + rng.choice(variants), rng.randrange(125, 240), rng.randrange(25, 75), rng.randrange(20, 80)) for _ in range(count)]
