# Help, version, unknown words, missing operands, numbers that are none: exit 2, one line, nothing done.
. "$(dirname "$0")/expect.sh"

run --help
expect_code 0
expect_silent_err
for verb in check fly odds replay; do
    run --help
    expect_out "^  $verb +[a-z]"
    run $verb --help
    expect_code 0
    expect_silent_err
    expect_out "^Usage: rollcast $verb [A-Z]+(\.\.\.)? "
    expect_out "^  -h, --help"
    cp out long
    run $verb -h
    ok "-h and --help differ" cmp -s out long
    ok "a help line has more than 100 columns" [ -z "$(awk 'length > 100' out)" ]
done
run --version
expect_code 0
expect_out '^rollcast [0-9]+\.[0-9]+\.[0-9]+(\+[0-9a-f]+(-dirty)?)?$'

run
expect_code 2
expect_silent_out
expect_err '^Usage: rollcast COMMAND'
run chekc file
expect_refusal 2 "'chekc'.*nearest is 'check'"
run zzzzzzzz
expect_refusal 2 "unknown command 'zzzzzzzz'"
run --frobnicate
expect_refusal 2 "unknown option '--frobnicate'"

for verb in check fly odds replay; do
    run $verb
    expect_refusal 2 "$verb wants a (CAMPAIGN|STORE)"
    run $verb --flubber x
    expect_refusal 2 "unknown option '--flubber'"
    run $verb -Z x
    expect_refusal 2 "unknown option '-Z'"
    if [ $verb = odds ]; then
        run odds 1 2 3 4 5 6 7 8 nine
        expect_refusal 2 "at most 8 of STORE, got 9: 'nine' is too many"
        run odds one ''
        expect_refusal 2 'odds wants a STORE'
    else
        run $verb one two
        expect_refusal 2 "'two' is too many"
    fi
    run $verb ''
    expect_refusal 2 "$verb wants a"
done
run odds --jsn s.h5
expect_refusal 2 "'--jsn'; the nearest is --json"
run odds --json=yes s.h5
expect_refusal 2 "--json: got 'yes', wanted no value"

run fly c.json
expect_refusal 2 'wants a store to fill: -o STORE'
run fly c.json -o
expect_refusal 2 '-o wants a value'
run fly c.json --output
expect_refusal 2 '--output wants a value'
run fly c.json -o ''
expect_refusal 2 "--output: got ''"
run fly c.json -o -
expect_refusal 2 'cannot be standard output'
for number in '' -5 +5 ' 5' 5x 0x5 1e3 5.0 0 four 99999999999999999999999 4000000000001; do
    run fly c.json -o s.h5 --flights="$number"
    expect_refusal 2 '--flights: got .*wanted a whole number from 1 to 4000000000000'
done
run fly c.json -o s.h5 --flights -5
expect_refusal 2 "--flights: got '-5'"
for number in '' -1 18446744073709551616 1.5 seed; do
    run fly c.json -o s.h5 --seed "$number"
    expect_refusal 2 '--seed: got .*wanted a whole number from 0 to 18446744073709551615'
done
run fly c.json -o s.h5 --threads 0
expect_refusal 2 '--threads: got .0., wanted a whole number from 1 to 4096'
run replay s.h5
expect_refusal 2 'wants a flight: --flight N'
run replay s.h5 --flight -1
expect_refusal 2 '--flight: got .-1.'
for number in '' -1 -0 nan inf 0x1p3 1s 1e999 '1 '; do
    run replay s.h5 --flight 0 --every "$number"
    expect_refusal 2 '--every: got .*wanted seconds'
done
ok 'a refused command left files behind' [ "$(ls | wc -l)" -eq 3 ] # out, err, long

# What parses goes on to the file: the same words with good numbers fail at the missing file, not at usage.
run fly nowhere.json -os.h5 --flights 4000000000000 --seed=18446744073709551615 --threads=1 --quiet
expect_refusal 3 'nowhere.json'
run fly -o s.h5 -- -nowhere.json
expect_refusal 3 'nowhere.json'
run check nowhere.json
expect_refusal 3 'nowhere.json'
run odds nowhere.h5
expect_refusal 4 'nowhere.h5.*check the path'
run replay nowhere.h5 --flight 18 --every 1e-3
expect_refusal 4 'nowhere.h5.*check the path'

# A stream that takes nothing: exit 4 and a line that says so.
if [ -w /dev/full ]; then
    what='rollcast --help >/dev/full'
    code=0
    "$program" --help >/dev/full 2>err || code=$?
    : >out
    expect_refusal 4 'standard output: No space left on device'
fi
what='rollcast --version >&-'
code=0
"$program" --version >&- 2>err || code=$?
: >out
expect_refusal 4 'standard output: Bad file descriptor'

finish
