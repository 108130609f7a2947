# `odds`: structure of the text, and the JSON against a recomputation from the store by h5py, NumPy and SciPy.
. "$(dirname "$0")/expect.sh"
take_campaign
here=$root/tests/cli

run fly good.json -o s.h5 --flights 800 --quiet
expect_code 0

run odds s.h5
expect_code 0
expect_silent_err
ok 'the first line is no verdict' sh -c 'head -1 out | grep -E -q "^(GO|NO-GO|NOT YET KNOWN): "'
expect_out '^Flights    800, seed '
expect_out '^Criterion +odds +exact interval +verdict$'
expect_out '^all together .* % .* to .* % +(GO|NO-GO|NOT YET KNOWN)$'
expect_out 'asked in [0-9.]+ % of flights @ [0-9.]+ % confidence'
expect_out '^Measure +median +90 % range \(5th to 95th percentile\)$'
expect_out '^apogee_m +[0-9,]+ m +[0-9,]+ to [0-9,]+ m$'
expect_out 'Caution: these figures estimate the odds'
expect_out 'sampling error only'
ok 'a line has more than 80 columns' [ -z "$(awk 'length > 80' out)" ]
ok 'colour on a stream that is no terminal' [ -z "$(grep -l "$(printf '\033')" out)" ]

run odds s.h5 --json
expect_code 0
expect_silent_err
cp out odds.json
ok 'the JSON differs from a recomputation' "$python" "$here/recompute.py" odds.json s.h5 good.json
"$python" "$here/recompute.py" odds.json s.h5 good.json || true

# Flights that end otherwise than at apogee: a time limit in the middle of the spread of ascents cuts about half of them off.
"$python" -c 'import json
rows = {row["name"]: row for row in json.load(open("odds.json"))["measures"]}
print(rows["ascent_s"]["median"])' >median
edit "c['run']['time_limit_s'] = $(cat median)"
run fly bad.json -o cut.h5 --flights 200 --quiet
expect_code 0
run odds cut.h5
expect_out '^Apogee     reached by [0-9]+; [0-9]+ ended otherwise and meet no criterion:$'
expect_out '^ +[0-9]+  .*time limit'
run odds cut.h5 --json
cp out cut.json
ok 'the JSON of a store with cut-off flights differs from a recomputation' "$python" "$here/recompute.py" cut.json cut.h5 bad.json
ok 'the time limit cut off no flight, or all' "$python" -c 'import json
ended = {row["code"]: row["flights"] for row in json.load(open("cut.json"))["ended"]}
assert set(ended) == {0, 3} and sum(ended.values()) == 200 and ended[3] > 20, ended'
edit "c['run']['time_limit_s'] = 5"
run fly bad.json -o none.h5 --flights 32 --quiet
run odds none.h5
expect_code 0
expect_out '^NO-GO: '
expect_out '^Apogee     reached by 0; 32 ended otherwise'
expect_out '^apogee_m +none$'

# Flights that are less exact, and an end code of a later version: both are made by hand in a copy of the store.
cp s.h5 odd.h5
"$python" - <<'END'
import h5py
with h5py.File("odd.h5", "r+") as store:
    store["measures/step_phase_max"][10:13] = 0.9
    store["end"][20:22] = 99
END
"$python" "$here/reseal.py" odd.h5
run odds odd.h5
expect_out '^3 flights turned more than 0\.8 rad'
expect_out '^ +2  '
run odds odd.h5 --json
cp out odd.json
ok 'three flights are not counted as less exact' "$python" -c 'import json
odds = json.load(open("odd.json"))
assert odds["less_exact_flights"] == 3
assert {row["code"]: row["flights"] for row in odds["ended"]}[-1] == 2'

# A campaign to the ground: the readiness campaign with few flights. Its text has the ellipses, its JSON is recomputed.
run fly "$root/campaigns/readiness.json" -o ready.h5 --flights 400 --quiet
expect_code 0
run odds ready.h5
expect_out '^inside the field .* %'
expect_out '^soft landing .* %'
expect_out '^landing_speed_mps +'
expect_out '^Landing    centre .* m east, .* m north; long axis bears [0-9]+ deg$'
expect_out '^ +99 % +[0-9,]+ m by [0-9,]+ m +[0-9,]+ ha \(([0-9,]+ to|at least) [0-9,]+\)$'
expect_out 'Caution: these figures estimate the odds'
ok 'a line has more than 80 columns' [ -z "$(awk 'length > 80' out)" ]
run odds ready.h5 --json
cp out ready.json
ok 'the JSON of a campaign to the ground differs from a recomputation' \
    "$python" "$here/recompute.py" ready.json ready.h5 "$root/campaigns/readiness.json"
"$python" "$here/recompute.py" ready.json ready.h5 "$root/campaigns/readiness.json" || true

ok 'intervals of areas pass for indicative under the plain plan' [ -z "$(grep -i indicative out | grep true)" ]
sed 's/"plan": "plain"/"plan": "latin"/' "$root/campaigns/readiness.json" >latin.json
run fly latin.json -o latin.h5 --flights 160 --quiet
expect_code 0
run odds latin.h5
expect_out 'Intervals of areas as for independent flights: with this plan indicative\.'
run odds latin.h5 --json
expect_out '"is_indicative": true'

# A campaign that spins through roll-pitch resonance: every flight passes it, dwells there and is turned by it.
run fly "$root/campaigns/spun.json" -o spun.h5 --flights 400 --quiet
expect_code 0
run odds spun.h5 --json
cp out spun.json
ok 'the JSON of a campaign through resonance differs from a recomputation' \
    "$python" "$here/recompute.py" spun.json spun.h5 "$root/campaigns/spun.json"
ok 'flights did not pass resonance, or nothing was seen there' "$python" - <<'END'
import h5py, json
import numpy as np
with h5py.File("spun.h5") as store:
    crossed, dwell, alpha, peak = (store["measures/" + name][:] for name in (
        "resonance_crossings", "resonance_dwell_s", "resonance_alpha_deg", "alpha_max_deg"))
assert np.mean(crossed >= 1) > 0.99, crossed.min()
assert np.all(dwell[crossed >= 1] > 0) and np.all(alpha[crossed >= 1] > 0) and np.all(alpha <= peak + 1e-9)
criteria = {row["measure"]: row for row in json.load(open("spun.json"))["criteria"]}
assert criteria["resonance_alpha_deg"]["passed"] == np.sum(alpha <= criteria["resonance_alpha_deg"]["at_most"]), criteria
END
run odds s.h5
ok 'a store without landings speaks of them' [ -z "$(grep -i landing out)" ]

# A store of an older version, which kept fewer measures: they are left out, and nothing is refused.
cp ready.h5 old.h5
"$python" - <<'END'
import h5py
with h5py.File("old.h5", "r+") as store:
    for name in ("landing_east_m", "resonance_crossings", "lateral_load_max_mps2"):
        del store["measures/" + name]
    kind = store["columns"].dtype
    kept = [c for c in store["columns"][:] if not c.startswith(b"measures/") or c.decode() in store]
    del store["columns"]
    store.create_dataset("columns", data=kept, dtype=kind)
END
"$python" "$here/reseal.py" old.h5
run replay old.h5 --flight 0 -o old.csv
expect_refusal 4 'old\.h5: has no column measures/'
"$python" -c 'import h5py
with h5py.File("old.h5", "r+") as store:
    store.attrs["version"] = "0.0.9+abc1234"'
"$python" "$here/reseal.py" old.h5
run replay old.h5 --flight 0 -o old.csv
expect_refusal 4 'old\.h5: was filled by 0\.0\.9\+abc1234, this is [0-9]+\.[0-9]+\.[0-9]+.*: it has no column measures/'
ok 'a history was made' [ ! -e old.csv ]
run fly "$root/campaigns/readiness.json" -o old.h5 --flights 4000 --resume
expect_refusal 4 'old\.h5.*begun by version 0\.0\.9\+abc1234, this is '
run odds old.h5
expect_code 0
ok 'a measure that is not there is shown' [ -z "$(grep -E '^(resonance_crossings|Landing)' out)" ]

# A store that was stopped before its first flight: nothing to answer from.
cp s.h5 empty.h5
"$python" -B "$here/emptied.py" empty.h5
run odds empty.h5
expect_refusal 4 'empty\.h5: the store holds no flight yet'

# Flights that are statically unstable: flown, and said so.
edit "c['aero']['centre_of_pressure_shift_m'] = -0.6"
run check bad.json
expect_code 0
expect_err_lines 1
expect_err 'bad\.json: /vehicle: .*statically unstable'
run fly bad.json -o unstable.h5 --flights 32 --quiet
expect_code 0
run odds unstable.h5
expect_out '^32 flights were statically unstable on the way'

# Flights whose descent is too long to be followed: check foretells them, odds counts them. The middle design's main fails.
edit "c['descent'] = {'body_area_m2': 0.05, 'main_area_m2': 5000, 'main_height_m': 3000, 'main_works': {'distribution': 'chance', 'odds': 0.3}}"
run check bad.json
expect_code 0
expect_err_lines 1
expect_err 'bad\.json: /descent: drawn at random, [5-9][0-9] of 256 flights sink so slowly'
run fly bad.json -o aloft.h5 --flights 32 --quiet
expect_code 0
run odds aloft.h5 --json
aloft=$("$python" -c 'import json; print(json.load(open("out"))["aloft_flights"])')
ok "$aloft flights of 32 are aloft" [ "$aloft" -gt 3 ] && ok "$aloft flights of 32 are aloft" [ "$aloft" -lt 17 ]
blank=$("$python" -c 'import h5py; print(sum(x != x for x in h5py.File("aloft.h5")["measures/landing_speed_mps"][:]))')
ok "$aloft flights are said to be aloft, $blank landings are blank" [ "$aloft" -eq "$blank" ]
run odds aloft.h5
expect_out "^$aloft flights sank so slowly that they were given up on the way down"

# Vehicles that never lift off, that come to rest on the rail, and flights cut by the time limit: each flown and told.
edit "c['motor']['impulse_factor'] = 0.05"
run check bad.json
expect_code 0
expect_err_lines 1
expect_err 'bad\.json: /motor: .*does not lift off'
run fly bad.json -o stays.h5 --flights 32 --quiet
expect_code 0
run odds stays.h5
expect_code 0
expect_out '^NO-GO: '
expect_out '^Apogee     reached by 0; 32 ended otherwise and meet no criterion:$'
expect_out '^ +32  .*(rail|lift)'
edit "c['rail']['length_m'] = 100; c['motor']['impulse_factor'] = 0.12"
run check bad.json
expect_code 0
expect_err 'bad\.json: /motor: .*never leaves it'
run fly bad.json -o rail.h5 --flights 32 --quiet
expect_code 0
run odds rail.h5
expect_out '^ +32  came to rest on the rail$'
edit "c['run']['time_limit_s'] = 10"
run check bad.json
expect_code 0
expect_err 'bad\.json: /run/time_limit_s: .*before the middle design'

# --strict: 1 unless the verdict is GO. Criteria that every flight meets and that none meets, by construction.
edit 'c["criteria"] = [{"name": "flies", "measure": "apogee_m", "at_least": -1, "odds": 0.5, "confidence": 0.9}]
c["all_together"] = {"odds": 0.5, "confidence": 0.9}'
run fly bad.json -o go.h5 --flights 64 --quiet
run odds go.h5 --strict
expect_code 0
expect_out '^GO: '
edit 'c["criteria"] = [{"name": "reaches the moon", "measure": "apogee_m", "at_least": 3e8, "odds": 0.5, "confidence": 0.9}]
c["all_together"] = {"odds": 0.5, "confidence": 0.9}'
run fly bad.json -o no.h5 --flights 64 --quiet
run odds no.h5 --strict
expect_code 1
expect_out '^NO-GO: .*reaches the moon'
expect_out ' 0(\.0+)? % +0(\.0+)? to '
run odds no.h5
expect_code 0
edit 'c["criteria"] = [{"name": "flies", "measure": "apogee_m", "at_least": -1, "odds": 0.999, "confidence": 0.99}]
c["all_together"] = {"odds": 0.5, "confidence": 0.9}'
run fly bad.json -o few.h5 --flights 64 --quiet
run odds few.h5 --strict
expect_code 1
expect_out '^NOT YET KNOWN: about [0-9,]+ more flights would settle it if the odds stay'

# Not a store, half a store, an answer that cannot be written.
printf 'something else' >other.h5
run odds other.h5
expect_refusal 4 'other\.h5'
: >empty.h5
run odds empty.h5
expect_refusal 4 'empty\.h5'
head -c 3000 s.h5 >half.h5
run odds half.h5
expect_refusal 4 'half\.h5'
"$python" -c 'import h5py; h5py.File("foreign.h5", "w")["x"] = 1'
run odds foreign.h5
expect_refusal 4 'foreign\.h5'
mkdir folder
run odds folder
expect_err_lines 1
expect_silent_out
if [ -w /dev/full ]; then
    what='rollcast odds >/dev/full'
    code=0
    "$program" odds s.h5 >/dev/full 2>err || code=$?
    : >out
    expect_refusal 4 'standard output: No space left on device'
fi

finish
