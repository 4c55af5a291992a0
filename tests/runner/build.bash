# Builds the programs and the tests, and runs the tests that were built.
#
# The tests run without cargo: it would wait for any build that goes on beside them.

# Tests that need programs and packages that install.bash installs. Cargo runs them only
# when it is told to. Those of the first line belong to the parts that wait most, so they
# are built with the programs and begin while the others are still being built.
early_tests="live_drive recorder budgets pull review_page virtual_board"
live_tests="$early_tests faults home_faults outside power_cuts hearing drives"

# Builds that take place beside the parts, in this order; parts.bash says which part needs
# which. A build NAME is the function build_NAME.
builds="tests board arm64 microcontroller windows fresh"

options_of_tests() {
  local test
  for test in $1; do echo --test "$test"; done
}

# Builds with cargo and notes where the tests are: cargo_build NAME OPTIONS...
cargo_build() {
  local name=$1
  shift
  # The tests' own dependencies change the features of others: programs that were built
  # without them would be built again for the tests. So all of it is one workspace build.
  cargo build --release --workspace --quiet --message-format json-render-diagnostics "$@" > "$logs/$name.json"
  python3 -B tests/runner/test_programs.py < "$logs/$name.json" > "$logs/$name.programs"
}

# The programs, and the tests that begin first.
build_programs() {
  # shellcheck disable=SC2046 # one option a word
  cargo_build early --bins $(options_of_tests "$early_tests")
}

# All other tests.
build_tests() {
  # shellcheck disable=SC2046 # one option a word
  cargo_build live $(options_of_tests "$live_tests")
  # Beside --tests cargo would pass over tests that it runs only when they are named.
  cargo_build late --lib --bins --tests --example place_answers
}

# What pins emulates.
build_board() {
  local machine=$target/virtual-board package
  mkdir -p "$machine"
  package=$(firmware/package/build-deb amd64 "$target/release/jumpseat-recorder" "$machine" trial)
  tests/virtual-board/make "$package" "$machine"
  tests/virtual-board/make-system "$package" "$machine"
}
build_windows() { tests/windows build "$target"; }
build_arm64() { tests/packages build "$target"; }
build_microcontroller() { tests/microcontroller build "$target"; }
build_fresh() { tests/fresh-demo build "$target"; }

# Where the tests were built: lines of package, kind, name, program, folder.
test_programs() { sort -u "$logs"/*.programs; }

# Runs one built test as cargo does: run_program PROGRAM FOLDER OPTIONS...
run_program() {
  local program=$1 folder=$2
  shift 2
  (cd "$folder" && CARGO_MANIFEST_DIR=$folder "$program" "$@")
}

# Runs one test and shows what it prints: run_test PACKAGE KIND NAME OPTIONS...
run_test() {
  local package=$1 kind=$2 name=$3 line
  shift 3
  line=$(test_programs | grep "^$package"$'\t'"$kind"$'\t'"$name"$'\t') ||
    { echo "tests/run: the $kind $name of $package was not built" >&2; return 1; }
  local program folder
  program=$(cut -f4 <<< "$line") folder=$(cut -f5 <<< "$line")
  # A filter that finds nothing would pass.
  run_program "$program" "$folder" "$@" --list | grep ': test$' > /dev/null ||
    { echo "tests/run: $name of $package has no test like $*" >&2; return 1; }
  run_program "$program" "$folder" --nocapture "$@"
}
run_live_test() { run_test jumpseat-tests test "$@"; }

# The module of jumpseat-trip whose tests the part time runs.
simulated_clocks=time::tests::

# Runs every other test beside the code of every package.
run_own_tests() {
  local status=0 package kind name program folder skip
  while IFS=$'\t' read -r package kind name program folder; do
    if [[ " $live_tests " == *" $name "* ]]; then continue; fi
    echo "$package: $kind $name"
    skip=()
    if [ "$package $kind" = "jumpseat-trip lib" ]; then skip=(--skip "$simulated_clocks"); fi
    run_program "$program" "$folder" --quiet "${skip[@]}" < /dev/null || status=$?
  done < <(test_programs)
  return "$status"
}
