# sh fuzz_one.sh BUILD SECONDS NAME PROGRAM CORPUS...: one fuzz target for some seconds; what it finds stays under BUILD/found.
build=$1
seconds=$2
name=$3
program=$4
shift 4
mkdir -p "$build/found/$name"
sh "$(dirname "$0")/check_one.sh" "$build" "$name" "$program" -max_total_time="$seconds" -timeout=10 -rss_limit_mb=2048 \
    -max_len=16384 -print_final_stats=1 -artifact_prefix="$build/found/$name-" "$build/found/$name" "$@"
grep number_of_executed_units "$build/$name.log"
