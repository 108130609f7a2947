# The usual build (its lanes, the best instruction set here) against four lanes of the baseline instruction set: the same bits.
# narrow.sh ROLLCAST FLY_NARROW SOURCE SCRATCH PYTHON
set -eu
work="$4/narrow.$$"
mkdir -p "$work"
trap 'rm -rf "$work"' EXIT
"$1" fly "$3/campaigns/first.json" -o "$work/wide.h5" --flights 150 --quiet
"$2" "$3/campaigns/first.json" "$work/narrow.h5" 150
"$5" -B "$3/tests/support/compare_stores.py" "$work/wide.h5" "$work/narrow.h5"
