# Every campaign of the library: named in its README with its question, checked without a warning, flown, answered. The README's two
# comparisons, with few flights, come to what it says.
. "$(dirname "$0")/expect.sh"

cp -r "$root/campaigns" .
for path in campaigns/*.json; do
    name=$(basename "$path")
    run check "$path"
    expect_code 0
    expect_silent_err
    ok "README.md has no row for $name" grep -q "^| .$name. | .*[?.] |$" campaigns/README.md
    "$program" check "$path" --json | "$python" -c 'import json, sys; print(json.load(sys.stdin)["purpose"])' >purpose
    ok "its purpose is no question: $(cat purpose)" grep -q '?' purpose
    run fly "$path" -o "${name%.json}.h5" --flights 48 --quiet
    expect_code 0
    run odds "${name%.json}.h5"
    expect_code 0
    expect_out '^(GO|NO-GO|NOT YET KNOWN): '
done
ok 'README.md names a file that is not there' sh -c 'sed -n "s/^| .\([a-z-]*\.json\). |.*/campaigns\/\1/p" campaigns/README.md | xargs ls'

# The long wait drains the battery: what is left of its voltage goes with the time on the pad before all else.
run fly campaigns/long-wait.json -o drained.h5 --flights 400 --quiet
expect_code 0
run rank drained.h5 --of battery_least_V --json
ok 'the wait does not drain the battery' "$python" -c 'import json
d = json.load(open("out"))
first = d["quantities"][0]
assert first["path"] == "pad.wait_s" and first["rank_correlation"]["value"] < -0.9 and d["passed"] < d["flights"], first'

# The README's own commands, flights cut down.
mkdir -p build
sed -n 's/^    //p' campaigns/README.md |
    sed 's/ --flights 2000//; s/rollcast fly \([^;]*\)\.h5/rollcast fly \1.h5 --flights 400 -q/; s/rollcast trade .*/& --flights 400 -q/' >commands.sh
what='the commands of campaigns/README.md'
code=0
PATH=$(dirname "$program"):$PATH sh -eu commands.sh >out 2>err || code=$?
expect_code 0
expect_out '^[ABC] would be flown|^[ABC] and [ABC] '
expect_out 'Lapwing, servo'
ok 'no page of the drives' [ -s build/drives.html ]
ok 'no trade on the page of the tabs' grep -q 'download="trade.csv"' build/tabs.html
"$program" trade campaigns/tabs.json --vary 'fins[1].cant_deg.mean=0:6:7' -o build/tabs --flights 400 --resume --json -q >trade.json
ok 'tabs of 2 degrees do not help, or those of 6 do' "$python" -c 'import json
odds = [setting["odds"] for setting in json.load(open("trade.json"))["settings"]]
assert odds[2] > odds[0] + 0.05 and odds[6] < odds[0] - 0.1, odds'

finish
