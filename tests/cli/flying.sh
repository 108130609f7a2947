# `fly`: what it makes, refuses and goes on with; signals.
. "$(dirname "$0")/expect.sh"
take_campaign

run fly good.json -o s.h5 --flights 64 --threads 1
expect_code 0
expect_silent_out
expect_err '^64 flights in s\.h5, [0-9]+ flights/s; next: rollcast odds s\.h5$'
ok 'the journal is still there' [ ! -e s.h5.journal ]
cp s.h5 kept.h5

run fly good.json -o s.h5 --flights 64
expect_refusal 4 's\.h5.*--resume'
ok 'the store changed' cmp -s s.h5 kept.h5
run fly good.json -o s.h5 --flights 64 --seed 99 --resume
expect_refusal 4 's\.h5.*seed'
edit 'c["rail"]["length_m"] = c["rail"]["length_m"] + 0.5'
run fly bad.json -o s.h5 --flights 64 --resume
expect_refusal 4 's\.h5.*campaign'
ok 'the store changed' cmp -s s.h5 kept.h5
printf 'something else' >other.h5
run fly good.json -o other.h5 --flights 8
expect_refusal 4 'other\.h5'
run fly good.json -o other.h5 --flights 8 --resume
expect_refusal 4 'other\.h5'
ok 'a file that is no store changed' [ "$(cat other.h5)" = 'something else' ]
run fly good.json -o nowhere/s.h5 --flights 8
expect_refusal 4 'nowhere'
if [ -w /dev/full ]; then
    run fly good.json -o /dev/full --flights 8
    expect_refusal 4 '/dev/full'
fi

# A finished store can be extended, and then holds what one run would have.
run fly good.json -o s.h5 --flights 96 --resume --quiet
expect_code 0
expect_silent_err
run fly good.json -o whole.h5 --flights 96 --quiet --threads 2
expect_code 0
run odds s.h5 --json
cp out resumed.json
run odds whole.h5 --json
ok 'a resumed run answers otherwise than a whole one' cmp -s out resumed.json

# A closed descriptor must not become the store.
what='rollcast fly >&- 2>&-'
code=0
"$program" fly good.json -o closed.h5 --flights 32 >&- 2>&- || code=$?
run odds closed.h5
expect_code 0

# Signals: stops after the blocks in work, says how to go on, and goes on.
for signal in INT TERM; do
    "$program" fly good.json -o "stop $signal.h5" --flights 2000000 --threads 2 >out 2>err &
    pid=$!
    n_waits=0 # until rows are in the journal: on a busy machine that takes its time
    while [ "$(wc -c 2>/dev/null <"stop $signal.h5.journal" || echo 0)" -lt 100000 ] && [ $n_waits -lt 300 ]; do
        sleep 0.1
        n_waits=$((n_waits + 1))
    done
    kill -$signal $pid
    (sleep 20; kill -KILL $pid) >guard 2>&1 & # a program that does not stop must not hang the test
    guard=$!
    code=0
    wait $pid || code=$?
    kill $guard 2>guard
    what="fly stopped by SIG$signal"
    expect_code 5
    expect_silent_out
    again="rollcast fly good\.json -o 'stop $signal\.h5' --flights 2000000 --threads 2 --resume"
    expect_err "^rollcast: stopped after [1-9][0-9]* flights; go on with: $again\$"
    n_stopped=$(sed -n 's/.*stopped after \([0-9]*\) flights.*/\1/p' err)
    run odds "stop $signal.h5"
    expect_code 0
    expect_out 'the store is unfinished'
    run odds "stop $signal.h5" --json
    ok "the store does not hold the ${n_stopped:-no} flights it was said to" \
        "$python" -c "import json; d = json.load(open('out')); assert d['flights'] == $n_stopped and not d['is_finished']"
    rm -f "stop $signal.h5" "stop $signal.h5.journal"
done

# A progress reader that goes away does not take the run with it.
what='rollcast fly 2>&1 | true'
code=0
("$program" fly good.json -o pipe.h5 --flights 64 2>&1; echo $? >code) | true
: >out
: >err
code=$(cat code)
expect_code 0

finish
