"""Says the lines of a file: 0.wav, 1.wav, ... in the working folder.

Arguments: the file, the voice, the speed and the pitch (1 is usual).
"""

import os
import sys
import wave

try:
    from py_nanotts import NanoTTS
except ImportError as error:
    print(error, file=sys.stderr)
    sys.exit(127)


def say(number, line):
    """Says one line."""
    speech = NanoTTS().speak(line.strip(), voice, float(speed), float(pitch))
    with wave.open(f"{number}.wav", "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16_000)
        file.writeframes(speech)


path, voice, speed, pitch = sys.argv[1:]
with open(path, encoding="utf-8") as file:
    lines = file.readlines()
for number, line in enumerate(lines):
    # What Pico says depends on what is in its memory, even on the lines before. In a
    # process of its own every line finds it empty.
    child = os.fork()
    if child == 0:
        say(number, line)
        sys.exit(0)
    if os.waitpid(child, 0)[1] != 0:
        sys.exit(1)
