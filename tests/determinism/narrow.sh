# The usual build (its lanes, the best instruction set here) against four lanes of the baseline instruction set: the same bits, with
# each kind of drive.
# narrow.sh ROLLCAST FLY_NARROW SOURCE SCRATCH PYTHON
set -eu
work="$4/narrow.$$"
mkdir -p "$work"
trap 'rm -rf "$work"' EXIT
for campaign in first stepper servo asleep; do
    "$1" fly "$3/campaigns/$campaign.json" -o "$work/$campaign-wide.h5" --flights 150 --quiet
    "$2" "$3/campaigns/$campaign.json" "$work/$campaign-narrow.h5" 150
    "$5" -B "$3/tests/support/compare_stores.py" "$work/$campaign-wide.h5" "$work/$campaign-narrow.h5"
done
