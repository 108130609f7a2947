# sh tidy_one.sh BUILD SOURCE CHECKS FILE: clang-tidy over one file, with CHECKS (may be empty) after those of .clang-tidy; prints its
# findings and one line "passed FILE" or "FAILED FILE".
if clang-tidy --quiet -p "$1" --checks="$3" --warnings-as-errors='*' --header-filter="$2/.*" "$4" 2>/dev/null; then
    echo "passed $4"
else
    echo "FAILED $4"
fi
