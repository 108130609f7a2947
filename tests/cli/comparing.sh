# `odds` of several stores: the campaign with each of the three drives side by side, and what must not be claimed.
. "$(dirname "$0")/expect.sh"
take_campaign
here=$root/tests/cli

for drive in first stepper servo; do
    run fly $drive.json -o $drive.h5 --flights 300 --quiet
    expect_code 0
done

# The demonstration: the coarse drive falls short of what is asked, stepper and servo do not.
run odds first.h5 stepper.h5 servo.h5
expect_code 0
expect_silent_err
expect_out '^(B and C|B|C) would be flown'
expect_out '^A  Lapwing, coarse drive$'
expect_out '^   first\.h5: 300 flights, seed 20260, apogee reached by all$'
expect_out '^   NO-GO: short of the odds asked: held, all together$'
expect_out '^Criterion +A +B +C$'
expect_out '^held +[0-9.]+ % +[0-9.]+ % +[0-9.]+ %$'
expect_out '^  95 % interval +[0-9.]+ to [0-9.]+ +[0-9.]+ to [0-9.]+ +[0-9.]+ to [0-9.]+$'
expect_out '^  verdict +NO-GO +GO +GO$'
expect_out '^  best: not shown between A, B and C, their intervals overlap$'
expect_out '^drive\.kind +A: geared_sensorless; B: stepper; C: servo$'
expect_out '^drive_starts +[0-9]+ +[0-9]+ +[0-9]+$'
expect_out 'Caution: these figures estimate the odds'
ok 'a line has more than 80 columns' "$python" -c 'assert max(len(line.rstrip("\n")) for line in open("out", encoding="utf-8")) <= 80'
ok 'a common entry is said to differ' [ -z "$(grep -E '^(motor|fins|vehicle|wind)' out)" ]
run odds first.h5 stepper.h5 servo.h5 --strict
expect_code 1

for drive in first stepper servo; do
    run odds $drive.h5 --json
    cp out $drive.odds.json
done
run odds first.h5 stepper.h5 servo.h5 --json
expect_code 0
expect_silent_err
cp out all.json
ok 'the comparison differs from a recomputation' "$python" "$here/recompare.py" all.json first stepper servo
"$python" "$here/recompare.py" all.json first stepper servo || true

# The same flights twice: nothing differs, no winner.
run odds servo.h5 servo.h5 --strict
expect_code 0
expect_out '^A and B would be flown, one as well as another: they are GO, and their intervals$'
expect_out '^nothing but what is asked, flights or seed$'
ok 'a winner is named' [ -z "$(grep 'above the others' out)" ]

# Campaigns that do not ask the same: each row stands for the stores that ask it, and all together is not compared.
edit 'c["criteria"][0]["at_least"] = 0.1; c["criteria"][1]["name"] = "usable seconds \u00e9"
c["motor"]["thrust_csv"] = "other-thrust.csv"; c["all_together"]["odds"] = 0.01'
{ cat lapwing-thrust.csv; echo; } >other-thrust.csv
run fly bad.json -o other.h5 --flights 300 --quiet
expect_code 0
run odds servo.h5 other.h5
expect_out '^A and B would each be flown by what its own campaign asks\.'
expect_out '^held +100\.00 % +-$'
expect_out '^held +- +[0-9.]+ %$'
expect_out '^  asked by A only$'
expect_out '^  not compared: the campaigns do not ask the same$'
ok 'the thrust tables are not said to differ' sh -c 'grep -A1 "^motor.thrust_csv" out | grep -q "lapwing-thrust.csv ([0-9]* bytes"'

# More stores than stand beside each other.
run odds first.h5 stepper.h5 servo.h5 other.h5 first.h5 stepper.h5 servo.h5 other.h5
expect_code 0
expect_out '^ +E +F +G +H$'
ok 'a line has more than 80 columns' "$python" -c 'assert max(len(line.rstrip("\n")) for line in open("out", encoding="utf-8")) <= 80'

# One of them is no store, or holds no flight: its name is in the one line.
printf 'something else' >no.h5
run odds first.h5 no.h5
expect_refusal 4 'no\.h5'
run odds first.h5 nowhere.h5 servo.h5
expect_refusal 4 'nowhere\.h5'

finish
