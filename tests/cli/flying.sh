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
run fly good.json -o absent.h5 --flights 8 --resume
expect_refusal 4 'absent\.h5: cannot be opened: .*check the path'
ok 'a store was made' [ ! -e absent.h5 ]
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

# No space, made with a limit on file size (a full disk fails the same write): one line, and what was written goes on.
what='ulimit -f 1200; rollcast fly'
code=0
(ulimit -f 1200 && exec "$program" fly good.json -o full.h5 --flights 1500 --threads 2 --quiet) >out 2>err || code=$?
expect_refusal 4 'full\.h5.*'
run fly good.json -o full.h5 --flights 1500 --resume --quiet
expect_code 0
expect_silent_err
run odds full.h5 --json
cp out full.json
run fly good.json -o roomy.h5 --flights 1500 --quiet
run odds roomy.h5 --json
ok 'a run that met the end of the space answers otherwise once resumed' cmp -s out full.json

# wait_for_rows STORE: until rows are in its journal; on a busy machine that takes its time.
wait_for_rows() {
    n_waits=0
    while [ "$(wc -c 2>/dev/null <"$1.journal" || echo 0)" -lt 100000 ] && [ $n_waits -lt 300 ]; do
        sleep 0.1
        n_waits=$((n_waits + 1))
    done
}

# Closed standard streams must not become the store or its journal, or messages would go into them.
what='rollcast fly <&- >&- 2>&-'
"$program" fly good.json -o closed.h5 --flights 2000000 <&- >&- 2>&- &
pid=$!
wait_for_rows closed.h5
for descriptor in 0 1 2; do
    place=$(readlink /proc/$pid/fd/$descriptor)
    ok "descriptor $descriptor is $place" [ "$place" = /dev/null ]
done
kill -TERM $pid
code=0
wait $pid || code=$?
expect_code 5
rm -f closed.h5 closed.h5.journal

# Signals: stops after the blocks in work, says how to go on, and goes on.
for signal in INT TERM; do
    "$program" fly good.json -o "stop $signal.h5" --flights 2000000 --threads 2 >out 2>err &
    pid=$!
    wait_for_rows "stop $signal.h5"
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
