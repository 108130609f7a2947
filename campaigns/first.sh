#!/bin/sh
# Installs what is missing, builds, flies the first campaign and prints the odds of usable footage.
# A second run goes on with the same store: it flies what is missing, or nothing, and prints the odds again.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
. "$root/src/install.sh"

# shellcheck disable=SC2086
need $RC_BUILD_PACKAGES
build=$root/build/fly
mkdir -p "$build"
echo "Building into $build" >&2
cmake -S "$root" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DRC_TESTS=OFF >"$build/configure.log" 2>&1 || {
    cat "$build/configure.log" >&2
    exit 70
}
cmake --build "$build" -j "$(processors)" >"$build/build.log" 2>&1 || {
    tail -60 "$build/build.log" >&2
    exit 70
}
rollcast=$build/src/cli/rollcast
store=$root/build/first.h5
if [ -e "$store" ]; then
    echo "Going on with $store: flights that are in it are kept. Delete it, and $store.journal, to start anew." >&2
    "$rollcast" fly "$root/campaigns/first.json" -o "$store" --resume
else
    "$rollcast" fly "$root/campaigns/first.json" -o "$store"
fi
"$rollcast" odds "$store"
echo "Flights are in $store. One of them again, with its time history: $rollcast replay $store --flight 0" >&2
