# sh tidy_one.sh BUILD SOURCE FILE: clang-tidy over one file; prints its findings and one line "passed FILE" or "FAILED FILE".
if clang-tidy --quiet -p "$1" --warnings-as-errors='*' --header-filter="$2/.*" "$3" 2>/dev/null; then
    echo "passed $3"
else
    echo "FAILED $3"
fi
