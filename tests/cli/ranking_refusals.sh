# `rank` and bad input: every kind of store that cannot be ranked, said in one line.
. "$(dirname "$0")/expect.sh"

formula() { # FORMULA FLIGHTS AT_LEAST
    "$python" -c 'import json, sys
values = [{"distribution": "normal", "mean": 0, "sd": 1}, {"distribution": "normal", "mean": 0, "sd": 1}]
json.dump({"name": "f", "run": {"flights": int(sys.argv[2]), "seed": 3}, "formula": sys.argv[1],
           "inputs": [{"name": "x%d" % (i + 1), "value": v} for i, v in enumerate(values)],
           "criteria": [{"name": "safe", "measure": "result", "at_least": float(sys.argv[3]), "odds": 0.9, "confidence": 0.95}],
           "all_together": {"odds": 0.9, "confidence": 0.95}}, open("f.json", "w"))' "$@" || exit 1
    rm -f f.h5
    "$program" fly f.json -o f.h5 --quiet
}

formula 'x1 + x2' 60 0
run rank f.h5
expect_refusal 3 'f\.h5: holds 60 flights, ranking takes 100: 40 more'
formula 'x1 + x2' 400 -100
run rank f.h5
expect_refusal 3 "f\.h5: none of 400 flights misses 'all together'.*rank a measure, which varies, such as result"
run rank f.h5 --of result
expect_code 0
formula 'x1 + x2' 400 100
run rank f.h5 --of safe
expect_refusal 3 "f\.h5: none of 400 flights meets 'safe'"
formula 'x1 + x2' 400 -3.3
run rank f.h5
expect_refusal 3 "f\.h5: only [0-9]+ of 400 flights miss 'all together', ranking takes 20 of either kind: about [0-9]+ more flights"
formula '3 + 0*x1 + 0*x2' 200 5
run rank f.h5 --of result
expect_refusal 3 'f\.h5: result is 3 in every flight'
formula 'sqrt(x1 - 2) + 0*x2' 500 0
run rank f.h5 --of result
expect_refusal 3 'f\.h5: [0-9]+ of 500 flights have a result, ranking takes 100'

formula 'x1 + x2' 400 0
run rank f.h5 --of elsewhere
expect_refusal 3 "f\.h5: there is no criterion or measure 'elsewhere'; the criteria are safe, all together"
run rank f.h5 --of apogee_m
expect_refusal 3 "f\.h5: there is no criterion or measure 'apogee_m'"
run rank f.h5 --csv --json
expect_refusal 2 '--csv goes without --json'
run rank f.h5 --of elsewhere --fly 100 -o new
expect_refusal 3 "there is no criterion or measure 'elsewhere'"
ok 'a refused rank left a folder' [ ! -e new ]
run rank
expect_code 2
run rank f.h5 --off safe
expect_code 2
run rank none.h5
expect_refusal 4 'none\.h5'
"$program" rank f.h5 >first
"$program" rank f.h5 >second
ok 'two rankings of one store differ' cmp first second

# A quantity that never varied, made by hand: said in its row, and the others are ranked.
"$python" -c 'import h5py
with h5py.File("f.h5", "r+") as store:
    store["quantities/inputs[1].value"][:] = 0.25'
"$python" "$root/tests/cli/reseal.py" f.h5
run rank f.h5
expect_code 0
expect_out '^inputs\[1\]\.value +never varied in these flights$'

# The paired design: too few rows; no quantities that vary together.
"$python" -c 'import json
c = json.load(open("f.json"))
c["run"].update(plan="paired", flights=76)
json.dump(c, open("paired.json", "w"))
c["inputs"][0]["value"] = c["inputs"][1]["value"]
c["correlations"] = [{"first": "inputs[0].value", "second": "inputs[1].value", "rank": 0.5}]
json.dump(c, open("tied.json", "w"))'
"$program" fly paired.json -o paired.h5 --quiet
run rank paired.h5
expect_refusal 3 'paired\.h5: holds 76 flights, ranking takes 100'
run fly paired.json -o stopped.h5 --stop-verdict
expect_refusal 3 'the plan paired flies whole rows that depend on each other'
run check tied.json
expect_refusal 3 'tied\.json: /run/plan: the paired design changes one quantity at a time'

# No number is uncertain.
edit_fixed() { "$python" -c 'import json
c = json.load(open("f.json"))
for i in c["inputs"]:
    i["value"] = 1
json.dump(c, open("fixed.json", "w"))'; }
edit_fixed
"$program" fly fixed.json -o fixed.h5 --quiet
run rank fixed.h5
expect_refusal 3 'fixed\.h5: no number of the campaign is uncertain'

# A store that was stopped before its first flight.
"$python" -B "$root/tests/cli/emptied.py" f.h5
run rank f.h5
expect_refusal 4 'f\.h5: the store holds no flight yet'

finish
