#!/bin/sh
# Installs what is missing, builds with warnings as errors, runs the tests and counts them.
# DEVELOPERS.md, "Configurations", lists the options. The last line is always "N passed, N failed".
set -u
root=$(cd "$(dirname "$0")/.." && pwd)
. "$root/src/install.sh"

usage() {
    cat <<'END'
Usage: sh tests/run.sh [CONFIGURATION] [--only REGEX] [--jobs N]
Without a configuration: release build, labels quick and full.
  --long       the same with the label long added
  --long-only  the label long alone
  --asan       address and undefined-behaviour sanitizers
  --tsan       thread sanitizer over everything that uses threads (clang, its OpenMP and its race detector's support)
  --clang      clang, warnings as errors
  --lanes1     one lane a block: the same code, one flight at a time; tests of flight, platform, measures, determinism
  --valgrind   memory checker over the unit tests of the modules that own memory
  --fuzz       each fuzz target for 15 s (RC_FUZZ_SECONDS changes that)
  --tidy       clang-tidy over src
  --tidy-quick the same without its path analysis, which takes nearly all of the time
  --cppcheck   cppcheck over src
  --only REGEX only ctest entries whose name matches
  --jobs N     processors to use (default: all)
END
}

configuration=release
labels='quick|full'
only=.
jobs=$(processors)
while [ $# -gt 0 ]; do
    case $1 in
    --long) labels='quick|full|long' ;;
    --long-only) labels='long' ;;
    --asan|--tsan|--clang|--lanes1|--valgrind|--fuzz|--tidy|--tidy-quick|--cppcheck) configuration=${1#--} ;;
    --only|--jobs)
        [ $# -ge 2 ] || { echo "$1 needs a value" >&2; usage >&2; exit 2; }
        if [ "$1" = --only ]; then only=$2; else jobs=$2; fi
        shift ;;
    --help) usage; exit 0 ;;
    *) echo "unknown option '$1'" >&2; usage >&2; exit 2 ;;
    esac
    shift
done
build=$root/build/$configuration
passed=0
failed=0

# Print the count and end: 0 only if something ran and nothing failed.
finish() {
    echo "$passed passed, $failed failed"
    [ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
    exit
}

# A step without which no test can run: what did not work counts as one failure.
give_up() {
    echo "$configuration: $1" >&2
    failed=$((failed + 1))
    finish
}

# configure CMAKE-OPTION...
configure() {
    mkdir -p "$build"
    cmake -S "$root" -B "$build" -G Ninja -DRC_WERROR=ON "$@" >"$build/configure.log" 2>&1 || {
        cat "$build/configure.log" >&2
        give_up "the build cannot be configured"
    }
}

configure_and_build() {
    configure "$@"
    cmake --build "$build" -j "$jobs" >"$build/build.log" 2>&1 || {
        grep -v '^\[' "$build/build.log" | tail -60 >&2
        give_up "the build failed (whole log: $build/build.log)"
    }
}

# Run ctest with the given arguments and add its cases to the count.
run_ctest() {
    (cd "$build" && ctest -j "$jobs" --output-on-failure --no-tests=error -R "$only" "$@")
    ended=$?
    # shellcheck disable=SC2046
    set -- $(awk -f "$root/tests/support/tally.awk" "$build/Testing/Temporary/LastTest.log")
    passed=$((passed + ${1:-0}))
    failed=$((failed + ${2:-0}))
    [ "$ended" -eq 0 ] || [ "$failed" -gt 0 ] || failed=1
}

# many LIST SCRIPT ARGUMENT...: run a script of tests/support on every line of a list, several at a time, and count its
# "passed" and "FAILED" lines.
many() {
    list=$1
    script=$2
    shift 2
    xargs -P "$jobs" -L 1 sh "$root/tests/support/$script" "$@" <"$list" >"$build/many.log" 2>&1
    cat "$build/many.log"
    passed=$((passed + $(grep -c '^passed ' "$build/many.log")))
    failed=$((failed + $(grep -c '^FAILED ' "$build/many.log")))
    [ $((passed + failed)) -eq "$(wc -l <"$list")" ] || failed=$((failed + 1))
}

# shellcheck disable=SC2086
need $RC_BUILD_PACKAGES g++ libcmocka-dev libgsl-dev libsundials-dev libpcg-cpp-dev hdf5-tools \
    python3 python3-numpy python3-scipy python3-h5py python3-jsonschema gnuplot-nox tidy man-db groff-base dpkg-dev file || give_up "packages are missing"

# Tests labelled long open the page of `report` in a browser, read a store with Octave, fly on MPI ranks and have OpenTURNS as a
# referee; they fail without.
case $labels in
*long*) need python3-openturns chromium octave poppler-utils fonts-dejavu-core openmpi-bin libopenmpi-dev || give_up "packages are missing" ;;
esac

# What another compiler or a sanitizer cannot tell more of: checks of the tree and of the scripts; and the store's faults, which
# start hundreds of processes and wait for the disk. These belong to the release build.
elsewhere='lint|scripts|faults|long'

case $configuration in
release)
    configure_and_build -DCMAKE_BUILD_TYPE=Release
    run_ctest -L "$labels"
    ;;
lanes1)
    configure_and_build -DCMAKE_BUILD_TYPE=Release -DRC_LANES=1
    run_ctest -L 'flight|platform|measures|determinism' -LE 'lint|long' -E '^vector_report$'
    ;;
clang)
    need clang libomp-dev || give_up "packages are missing"
    configure_and_build -DCMAKE_BUILD_TYPE=Release -DCMAKE_C_COMPILER=clang -DCMAKE_CXX_COMPILER=clang++
    run_ctest -L 'quick|full' -LE "$elsewhere"
    ;;
asan)
    export ASAN_OPTIONS=detect_stack_use_after_return=1:strict_string_checks=1
    export UBSAN_OPTIONS=print_stacktrace=1
    configure_and_build -DCMAKE_BUILD_TYPE=RelWithDebInfo -DRC_SANITIZE=address,undefined
    # Left out: thousands of flights and rankings, many pages, and waits for a clock, through code that other tests run, too.
    run_ctest -L 'quick|full' -LE "$elsewhere" -E '^(test_rank|test_halved_ticks|cli_status|cli_keeping)$'
    ;;
tsan)
    # gcc's OpenMP run-time hides its barriers from the detector and every parallel loop would look like a race; clang's
    # tells it about them (the tool "archer"), and what is not instrumented (HDF5) is left out of the search.
    need clang libclang-rt-dev libomp-dev llvm || give_up "packages are missing"
    archer=$(find /usr/lib/llvm-*/lib -name libarcher.so 2>/dev/null | tail -1)
    [ -n "$archer" ] || give_up "libarcher.so is not among clang's OpenMP files"
    export OMP_TOOL_LIBRARIES="$archer"
    export TSAN_OPTIONS=ignore_noninstrumented_modules=1:halt_on_error=1
    configure_and_build -DCMAKE_BUILD_TYPE=RelWithDebInfo -DCMAKE_C_COMPILER=clang -DCMAKE_CXX_COMPILER=clang++ \
        -DRC_SANITIZE=thread
    run_ctest -L 'batch|determinism' -LE 'lint|long'
    ;;
valgrind)
    need valgrind || give_up "packages are missing"
    # no clones: the memory checker does not know all instruction sets
    configure_and_build -DCMAKE_BUILD_TYPE=RelWithDebInfo -DRC_DISPATCH=OFF
    for folder in base measures sampling campaign store analysis report; do
        find "$build/tests/unit/$folder" -maxdepth 1 -type f -name 'test_*' -perm -u+x
    done | grep -E "/[^/]*($only)[^/]*$" >"$build/programs.txt"
    many "$build/programs.txt" valgrind_one.sh "$build"
    ;;
fuzz)
    need clang libclang-rt-dev libomp-dev llvm || give_up "packages are missing"
    configure_and_build -DCMAKE_BUILD_TYPE=RelWithDebInfo -DCMAKE_C_COMPILER=clang -DCMAKE_CXX_COMPILER=clang++ \
        -DRC_FUZZ=ON -DRC_SANITIZE=address,undefined,fuzzer-no-link
    [ -f "$build/fuzz_targets.txt" ] || give_up "there is no fuzz target"
    many "$build/fuzz_targets.txt" fuzz_one.sh "$build" "${RC_FUZZ_SECONDS:-15}"
    ;;
tidy|tidy-quick)
    need clang clang-tidy libomp-dev openmpi-bin libopenmpi-dev || give_up "packages are missing"
    configure -DRC_TESTS=OFF -DRC_MPI=ON -DCMAKE_C_COMPILER=clang
    find "$root/src" -name '*.c' | sort >"$build/files.txt"
    left_out=
    [ "$configuration" = tidy ] || left_out='-clang-analyzer-*'
    many "$build/files.txt" tidy_one.sh "$build" "$root/src" "$left_out"
    ;;
cppcheck)
    need cppcheck || give_up "packages are missing"
    configure -DRC_TESTS=OFF
    echo "--project=$build/compile_commands.json" >"$build/checks.txt"
    many "$build/checks.txt" check_one.sh "$build" cppcheck cppcheck -j "$jobs" --std=c11 --quiet --inline-suppr \
        --enable=warning,performance,portability --error-exitcode=1 --suppress=missingIncludeSystem
    ;;
esac
finish
