# Simulates and drafts drives; judge, judge-generated, fit-draft and draft-speed source this file.

# Simulates a drive, unless it is there already: simulated PROGRAMS FOLDER OPTIONS...
simulated() {
  local programs=$1 drive=$2
  shift 2
  if [ -d "$drive" ]; then return; fi
  rm -rf "$drive.part"
  "$programs/drive" simulate "$@" --out "$drive.part" > "$drive.log" 2>&1 || { cat "$drive.log" >&2; return 1; }
  # The trip holds the same sound.
  rm "$drive.part/drive.wav"
  mv "$drive.part" "$drive"
}

# Drafts a trip of a simulated drive: drafted PROGRAMS FOLDER TRIP OPTIONS...
drafted() {
  local programs=$1 drive=$2 trip=$3 code=0
  shift 3
  "$programs/jumpseat" --home "$drive/home" draft "$trip" "$@" > "$drive.log" 2>&1 || code=$?
  # 3 is "done, with doubts".
  if [ $code != 0 ] && [ $code != 3 ]; then cat "$drive.log" >&2; return 1; fi
}
# Drafts the same drive as if the operator had never pressed the mark button.
unmarked() { # folder of the programs, drive, what the files begin with
  local programs=$1 drive=$2 to=$3 trip name
  trip=$(echo "$drive"/trip-0*)
  name=$(basename "$trip")
  mkdir -p "$(dirname "$to")" "$drive/unmarked/$name"
  cp -rl "$trip/audio" "$trip/trip.json" "$drive/unmarked/$name/"
  grep -v '"event":{"mark"' "$trip/journal.jsonl" > "$drive/unmarked/$name/journal.jsonl"
  drafted "$programs" "$drive" "$drive/unmarked/$name" --json "$to.draft.json"
  rm -r "$drive/unmarked"
  cp "$drive/truth.json" "$to.truth.json"
}
export -f simulated drafted unmarked
