# sh tidy_one.sh FILE BUILD SOURCE: clang-tidy over one file; prints its findings and one line "passed FILE" or "FAILED FILE".
if clang-tidy --quiet -p "$2" --warnings-as-errors='*' --header-filter="$3/.*" "$1" 2>/dev/null; then
    echo "passed $1"
else
    echo "FAILED $1"
fi
