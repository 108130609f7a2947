#!/bin/sh
# tests/run.sh, .ci/run and the installer, on small made-up trees: counts, exit codes and messages when things go wrong.
set -u
root=$(cd "$(dirname "$0")/../../.." && pwd)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
n_failed=0

# expect TITLE WANTED GOT
expect() {
    if [ "$2" = "$3" ]; then
        echo "ok      $1"
    else
        n_failed=$((n_failed + 1))
        printf 'FAILED  %s\n  wanted: %s\n  got:    %s\n' "$1" "$2" "$3"
    fi
}

# A tree with our scripts, and a bin folder that stands first in the search path.
mkdir -p "$scratch/tree/tests/support" "$scratch/tree/src" "$scratch/tree/.ci" "$scratch/bin"
cp "$root/tests/run.sh" "$scratch/tree/tests/"
cp "$root/tests/support/tally.awk" "$scratch/tree/tests/support/"
cp "$root/src/install.sh" "$scratch/tree/src/"
cp "$root/.ci/run" "$scratch/tree/.ci/"
stub() {
    printf '#!/bin/sh\n%s\n' "$2" >"$scratch/bin/$1"
    chmod +x "$scratch/bin/$1"
}
with_stubs() {
    PATH="$scratch/bin:$PATH" "$@"
}
stub dpkg-query 'echo installed'

sh "$root/tests/run.sh" --nonsense >/dev/null 2>"$scratch/said"
expect "an unknown option ends with 2" 2 $?
expect "an unknown option is named" "unknown option '--nonsense'" "$(head -1 "$scratch/said")"

echo 'message(FATAL_ERROR "broken")' >"$scratch/tree/CMakeLists.txt"
said=$(with_stubs sh "$scratch/tree/tests/run.sh" 2>/dev/null)
expect "a tree that cannot be configured ends with 1" 1 $?
expect "a tree that cannot be configured counts as a failure" "0 passed, 1 failed" "$(echo "$said" | tail -1)"

cat >"$scratch/tree/program.sh" <<'END'
echo '[       OK ] a__b'
case $1 in
passes) echo '[       OK ] a__c' ;;
fails) printf '[  FAILED  ] a__c\n[  FAILED  ] 1 test(s), listed below:\n[  FAILED  ] a__c\n'; exit 1 ;;
crashes) kill -SEGV $$ ;;
esac
END
# A tree with tests of every fate, in the words ctest logs them.
cat >"$scratch/tree/CMakeLists.txt" <<'END'
cmake_minimum_required(VERSION 3.25)
project(fates NONE)
enable_testing()
add_test(NAME script_passes COMMAND true)
add_test(NAME script_fails COMMAND false)
add_test(NAME program_passes COMMAND sh ${CMAKE_SOURCE_DIR}/program.sh passes)
add_test(NAME program_fails COMMAND sh ${CMAKE_SOURCE_DIR}/program.sh fails)
add_test(NAME program_crashes COMMAND sh ${CMAKE_SOURCE_DIR}/program.sh crashes)
add_test(NAME program_is_absent COMMAND /does/not/exist)
add_test(NAME program_hangs COMMAND sleep 20)
set_tests_properties(program_hangs PROPERTIES TIMEOUT 1)
set_tests_properties(script_passes script_fails program_passes program_fails program_crashes program_is_absent program_hangs
  PROPERTIES LABELS quick)
END
said=$(with_stubs sh "$scratch/tree/tests/run.sh" 2>/dev/null)
expect "failures end with 1" 1 $?
expect "every fate is counted" "5 passed, 5 failed" "$(echo "$said" | tail -1)"
said=$(with_stubs sh "$scratch/tree/tests/run.sh" --only passes 2>/dev/null)
expect "passes alone end with 0" 0 $?
expect "cases are counted" "3 passed, 0 failed" "$(echo "$said" | tail -1)"
with_stubs sh "$scratch/tree/tests/run.sh" --only nothing_of_that_name >/dev/null 2>&1
expect "a run without any test ends with 1" 1 $?

stub dpkg-query 'exit 1'
stub id 'echo 1000'
stub sudo 'exit 1'
said=$(with_stubs sh "$scratch/tree/tests/run.sh" 2>&1 </dev/null)
expect "missing packages without a way to install them end with 1" 1 $?
expect "missing packages are named" "Missing packages: gcc libc6-dev" "$(echo "$said" | head -1 | cut -d' ' -f1-4)"

# of the configurations that the run names, the last ends without a count and the default one with a failure
n=$(grep -c '^configuration ' "$root/.ci/run")
last=$(sed -n 's/^configuration .* \(--[a-z0-9-]*\)$/\1/p' "$root/.ci/run" | tail -1)
echo 'case "${1-none}" in none) echo "3 passed, 1 failed"; exit 1 ;; '"$last"') echo "no count" ;; *) echo "2 passed, 0 failed" ;; esac' \
    >"$scratch/tree/tests/run.sh"
said=$(bash "$scratch/tree/.ci/run" 2>/dev/null)
expect "the run over all configurations ends with 1 on a failure" 1 $?
expect "the counts are added up" "$(((n - 2) * 2 + 3)) passed, 2 failed" "$(echo "$said" | tail -1)"
echo 'echo "1 passed, 0 failed"' >"$scratch/tree/tests/run.sh"
bash "$scratch/tree/.ci/run" >/dev/null 2>&1
expect "the run over all configurations ends with 0 if all pass" 0 $?

[ "$n_failed" -eq 0 ]
