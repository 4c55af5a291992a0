# The parts of the tests: what each one checks and how it is run.
#
# Each part has a lane, see schedule.bash:
#   sound   plays or records sound in real time
#   clock   waits for clocks, networks and other programs more than it computes
#   work    computes, and may be slow
# A part NAME is the function part_NAME; what it needs beforehand stands in `needs` (builds,
# see build.bash) and in install.bash.

# Name, lane, and what it checks.
parts="
chain      sound  a live drive through real parts, from the sound card to the ADIF file
budgets    sound  what the recorder takes, beside arecord; a drive of a whole day
recorder   clock  the real recorder: every sample there; killed, parked, its parts gone and back again
pull       clock  from a real OpenSSH server: the evening in one go, the link cut anywhere, tricks, rates beside sftp
review     clock  the review page in a real browser, by keys and by mouse; strangers, hostile trips
pins       clock  the packaged recorder in an emulated machine: real pins, sound card, power cuts
package    clock  Debian packages for both machines, made, installed, run; the core on a Cortex-M
windows    clock  the home tool built for Windows, run under Wine
unit       work   the tests beside the code of every package
home       work   the home tool on a disk that fails at any operation, and killed at any moment
lint       work   formatting, clippy with warnings as errors, shipped configs, claims, the rules of the house
faults     work   bad input: a clear message, the right exit code, nothing lost
cuts       work   the card: power cuts at every operation, errors, full, trips that may go
hearing    work   the recogniser on a real speaker's words and in noise, held to floors
drives     work   two short drives of unseen seeds and two of written conversations, from sound to draft, held to floors
outside    work   what we compute against reference programs and libraries
logbook    work   lists, searches and checks in a logbook of 100,000 contacts, held to a limit
time       work   what is known of the time in every trouble with clocks, against simulated clocks
place      work   allocations, counties, countries and distances against published tables
hardware   work   every circuit simulated, every figure of its pages, the pins of the config
manual     work   man pages and completions of both commands in their shells; the home tool's package
demo       work   the demo on a fresh clone, without audio packages
macos      work   the home tool's Rust through the compiler's checks for macOS; only if it is named
"
# Left out when nothing is named: what it checks changes seldom, and a release asks for it.
only_if_named="macos"
# The tests of one package alone, by the last word of its name.
packages_alone="core draft entries files formats jumpseat logbook place pull recorder review simulator speech trip values vocabulary"

declare -A needs=(
  [package]="arm64 microcontroller"
  [pins]="board"
  [windows]="windows"
  [demo]="fresh"
  # It shares a folder with the tests' build, and the clone copies from there.
  [lint]="tests fresh"
  [unit]="tests" [home]="tests" [faults]="tests" [cuts]="tests" [hearing]="tests"
  [drives]="tests" [outside]="tests" [time]="tests" [place]="tests"
)

names_of_parts() { awk 'NF { print $1 }' <<< "$parts"; }
lane_of() { awk -v name="$1" '$1 == name { print $2 }' <<< "$parts"; }
about() { sed -n "s/^$1  *[a-z]*  *//p" <<< "$parts"; }
is_part() { [ -n "$(lane_of "$1")" ]; }
is_package() { [[ " $packages_alone " == *" $1 "* ]]; }

list_parts() {
  echo "parts:"
  awk 'NF { name = $1; $1 = $2 = ""; printf "  %-9s%s\n", name, $0 }' <<< "$parts"
  echo "packages (their own tests only): $packages_alone"
}

# Runs a part, or the tests of one package.
do_part() {
  if is_part "$1"; then "part_$1"; else package_alone "$1"; fi
}

# It may be built again, with fewer features than among all others.
package_alone() {
  local package=jumpseat-$1
  if [ "$1" = jumpseat ]; then package=jumpseat; fi
  cargo test --release --quiet -p "$package"
}

part_lint() {
  cargo fmt --all --check
  # shellcheck disable=SC2046 # one option a word
  cargo clippy --release --workspace --all-targets $(options_of_tests "$live_tests") --quiet -- -D warnings
  check_fuzzers
  local config
  for config in firmware/package/*.toml; do
    "$target/release/jumpseat-recorder" validate --config "$config"
  done
  python3 -B tests/claims.py
  (cd tests && python3 -B -m unittest --quiet house_rules.self_test)
  python3 -B tests/house.py
  # Those of tests/upgrade stay as they were when they made their homes.
  git grep --name-only '^#!/usr/bin/env bash' -- tests .ci ':!tests/upgrade' |
    xargs shellcheck --external-sources --check-sourced
}

# The fuzzers are a workspace of their own, which nothing else here compiles. With our profile
# most of what clippy has checked is not checked again, and a check links no fuzzer, so none is
# built. The warnings are of page.rs, which takes in files of which it uses a part.
check_fuzzers() {
  CARGO_PROFILE_RELEASE_LTO=off CARGO_PROFILE_RELEASE_OVERFLOW_CHECKS=true \
    CUSTOM_LIBFUZZER_PATH=/nothing/libfuzzer.a \
    cargo check --release --locked --quiet --manifest-path tests/fuzz/Cargo.toml --target-dir "$target" \
    > "$logs/fuzzers.log" 2>&1 || { cat "$logs/fuzzers.log"; return 1; }
}

# The clocks of simulated drives have a part of their own.
part_unit() { run_own_tests; }
part_time() { run_test jumpseat-trip lib jumpseat_trip "$simulated_clocks"; }

part_chain() { run_live_test live_drive; }
part_budgets() { run_live_test budgets; }
# Recorders wait for sound and use next to no processor: four at once. Their cards are
# in memory, where there is room: what the builds beside them do to a disk is not what
# they are about, and tests of slow cards make their own.
part_recorder() { in_memory run_live_test recorder --test-threads 4; }
part_faults() { run_live_test faults; }
# Thousands of runs of the home tool, each in a folder of its own: in memory, because one
# sync of a disk takes longer than all else that a run does. One test after the other, as
# each uses all processors. All faults at all operations: JUMPSEAT_FAULTS=all tests/run home
part_home() { in_memory run_live_test home_faults --test-threads 1; }
part_pull() {
  # Where the server drops its privileges.
  as_root mkdir -p /run/sshd
  run_live_test pull
}
part_cuts() { run_live_test power_cuts; }
part_hearing() { run_live_test hearing; }
part_review() { run_live_test review_page; }
part_drives() { run_live_test drives; }
part_outside() { run_live_test outside; }
# Many times what an idle machine needs, so that a busy one passes too.
part_logbook() { "$target/release/log_bench" 100000 400; }
part_package() {
  as_root env "PATH=$PATH" "HOME=$HOME" tests/packages run "$target"
  tests/microcontroller run "$target"
}
# 50 cuts, as every night: JUMPSEAT_CUTS=50 tests/run pins
part_pins() { JUMPSEAT_VIRTUAL_BOARD=$target/virtual-board run_live_test virtual_board; }
part_place() {
  python_environment place-venv tests/outside/requirements-place.txt --no-deps
  PLACE_ANSWERS=$target/release/examples/place_answers \
    "$target/place-venv/bin/python" tests/outside/place_all.py
}
part_hardware() {
  python_environment hardware-venv hardware/requirements.txt
  CARGO_TARGET_DIR=$target "$target/hardware-venv/bin/python" -B hardware/check.py
}
part_manual() {
  tests/manual "$target"
  as_root env "PATH=$PATH" tests/home-package "$target"
}
part_windows() { tests/windows run "$target"; }
part_demo() { tests/fresh-demo run "$target"; }
part_macos() { tests/macos "$target"; }

# Runs a command whose temporary files are in memory, where there is room for them.
in_memory() {
  local folder status=0
  folder=$(mktemp -d -p "$(folder_in_memory)")
  TMPDIR=$folder "$@" || status=$?
  rm -rf "$folder"
  return "$status"
}
folder_in_memory() {
  local folder=/dev/shm free options
  free=$(df --output=avail -B1M "$folder" 2> /dev/null | tail -1 || true)
  options=$(findmnt --noheadings --output OPTIONS --target "$folder" 2> /dev/null || true)
  # Libraries of the tests are loaded from there too.
  if [ -w "$folder" ] && [ "${free:-0}" -ge 4096 ] && [[ $options != *noexec* ]]; then
    echo "$folder"
  else
    echo "${TMPDIR:-/tmp}"
  fi
}
