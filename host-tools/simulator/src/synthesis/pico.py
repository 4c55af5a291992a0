"""Says the lines of a file: 0.wav, 1.wav, ... in the working folder.

Arguments: the file, the voice, the speed and the pitch (1 is usual).
"""

import sys
import wave

try:
    from py_nanotts import NanoTTS
except ImportError as error:
    print(error, file=sys.stderr)
    sys.exit(127)

path, voice, speed, pitch = sys.argv[1:]
program = NanoTTS()
with open(path, encoding="utf-8") as lines:
    for number, line in enumerate(lines):
        speech = program.speak(line.strip(), voice, float(speed), float(pitch))
        with wave.open(f"{number}.wav", "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(16_000)
            file.writeframes(speech)
