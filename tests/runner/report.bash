# Counts what passed and failed, and prints figures and times.

say() { printf '\n== %s\n' "$*"; }

# Adds up closing lines: the test programs' "test result: ok. 4 passed; 0 failed; ..." and
# the scripts' "4 passed, 0 failed".
count() {
  awk -v word="$1" '
    /^test result: / || /^[0-9]+ passed, [0-9]+ failed$/ {
      for (i = 2; i <= NF; i++) if ($i ~ "^" word "[;,]?$") sum += $(i - 1)
    }
    END { print sum + 0 }' "$2"
}

# Notes how a part ended: note_result NAME STATUS SECONDS.
note_result() {
  local name=$1 status=$2 seconds=$3 log=$logs/$1.log passed failed
  passed=$(count passed "$log") failed=$(count failed "$log")
  # A part without tests of cargo's, and one that stopped before them, counts as one.
  if [ "$status" != 0 ] && [ "$failed" = 0 ]; then failed=1; fi
  if [ "$status" = 0 ] && [ "$passed" = 0 ]; then passed=1; fi
  # tests/numbers takes the figures of this commit from here.
  rm -f "$logs/$name.commit"
  if [ "$status" = 0 ]; then git rev-parse HEAD > "$logs/$name.commit" 2> /dev/null || rm -f "$logs/$name.commit"; fi
  echo "$passed $failed $seconds" > "$logs/$name.result"
}

# Figures, times and the sum of all parts; fails where one failed: report NAME...
report() {
  local name passed=0 failed=0 good bad seconds times="" wrong=""
  say "figures"
  for name in "$@"; do
    if [ ! -e "$logs/$name.result" ]; then
      failed=$((failed + 1)) wrong+=" $name (did not run)"
      continue
    fi
    read -r good bad seconds < "$logs/$name.result"
    passed=$((passed + good)) failed=$((failed + bad)) times+=" $name $seconds s,"
    if [ "$bad" != 0 ]; then wrong+=" $name"; fi
    sed -n 's/^.*figure: /  /p' "$logs/$name.log"
  done
  for name in $builds; do
    if [ -e "$logs/build-$name.seconds" ]; then times+=" build of $name $(cat "$logs/build-$name.seconds") s,"; fi
  done
  echo "  time taken: build of programs $(cat "$logs/build-programs.seconds") s,$times together $SECONDS s"
  if [ -n "$wrong" ]; then echo "  failed:$wrong; what each one printed is in $logs"; fi
  echo
  echo "$passed passed, $failed failed"
  [ "$failed" = 0 ]
}
