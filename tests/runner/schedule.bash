# Runs parts beside each other.
#
# Much of what the parts do is waiting: for sound that plays in real time, for a server, for
# an emulated machine. So there are three lanes, each with a queue of parts in the order of
# parts.bash. `sound` works through its queue one after the other, undisturbed; so does
# `clock`, a little behind it; and two workers of the lane `work` take builds, then parts,
# and get the time of the processors that nobody else wants.

# Runs a build or a part, with what it prints in a log, and puts how it ended into `status`:
# run_logged LOG COMMAND...
run_logged() {
  local log=$1
  shift
  # In a condition, errors inside the command would not end it.
  set +e
  ( set -e; "$@" ) > "$log" 2>&1 < /dev/null
  status=$?
  set -e
}

# Runs a build and notes that it ended. Where it failed, its log is shown; what needs it
# finds nothing, or builds again, and fails.
run_build() {
  local name=$1 began=$SECONDS status
  run_logged "$logs/build-$name.log" "build_$name"
  echo $((SECONDS - began)) > "$logs/build-$name.seconds"
  if [ "$status" != 0 ]; then
    { say "build of $name: failed"; tail -40 "$logs/build-$name.log"; } | one_at_a_time
    touch "$logs/failed-$name"
  fi
  touch "$logs/built-$name"
}

# Runs a part and shows its output when it has ended.
run_part() {
  local name=$1 began=$SECONDS status
  run_logged "$logs/$name.log" do_part "$name"
  note_result "$name" "$status" $((SECONDS - began))
  { say "$name ($((SECONDS - began)) s): $(about "$name")"; cat "$logs/$name.log"; } | one_at_a_time
}

# Runs a part alone, and shows its output as it comes.
run_part_alone() {
  local name=$1 began=$SECONDS status
  say "$name: $(about "$name")"
  set +e
  ( set -e; do_part "$name" ) 2>&1 | tee "$logs/$name.log"
  status=${PIPESTATUS[0]}
  set -e
  note_result "$name" "$status" $((SECONDS - began))
}

one_at_a_time() { flock "$logs/output.lock" cat; }

# The builds that these parts need.
builds_for() {
  local build name
  for build in $builds; do
    for name in "$@"; do
      if [[ " ${needs[$name]:-} " == *" $build "* ]]; then
        echo "$build"
        break
      fi
    done
  done
}

wait_for_builds() {
  local build
  for build in "$@"; do
    # A build that nobody asked for is not waited for.
    while [[ " $chosen_builds " == *" $build "* ]] && [ ! -e "$logs/built-$build" ]; do sleep 0.5; done
  done
}

# Takes what no other worker has taken, until nothing is left: worker LANE.
worker() {
  local job name
  if [ "$1" = work ]; then
    for job in $chosen_builds; do
      if take "build-$job"; then run_build "$job"; fi
    done
  fi
  for name in $chosen_parts; do
    if [ "$(lane_of "$name")" = "$1" ] && take "$name"; then
      # shellcheck disable=SC2086 # one build a word
      wait_for_builds ${needs[$name]:-}
      run_part "$name"
    fi
  done
}
take() { mkdir "$logs/taken/$1" 2> /dev/null; }

# Runs parts in their lanes: run_beside PART...
run_beside() {
  chosen_parts=$*
  chosen_builds=$(builds_for "$@" | tr '\n' ' ')
  rm -rf "$logs/taken"
  mkdir "$logs/taken"
  # Process groups of their own, so that all of each can be ended.
  set -m
  worker sound &
  workers=($!)
  ( renice --priority 5 --pid "$BASHPID" > /dev/null; worker clock ) &
  workers+=($!)
  for _ in 1 2; do
    # Sound in real time does not notice these.
    ( chrt --idle --pid 0 "$BASHPID" > /dev/null; worker work ) &
    workers+=($!)
  done
  set +m
  wait "${workers[@]}"
  workers=()
}

# Runs parts one after the other: run_in_turn PART...
run_in_turn() {
  local build name
  chosen_builds=
  for build in $(builds_for "$@"); do run_build "$build"; done
  for name in "$@"; do run_part_alone "$name"; done
}

workers=()
# What was started ends with the tests, also when these are interrupted.
end_workers() {
  local worker
  for worker in "${workers[@]}"; do kill -- "-$worker" 2> /dev/null || true; done
}
