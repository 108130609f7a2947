# `replay`: the history as CSV, where it goes, what it never does to a file that is there.
. "$(dirname "$0")/expect.sh"
take_campaign

run fly good.json -o s.h5 --flights 40 --quiet
expect_code 0
cp s.h5 kept.h5

run replay s.h5 --flight 7
expect_code 0
expect_err_lines 1
expect_err '^rollcast: flight 7: .*bit'
ok 'the CSV is not as expected' "$python" - <<'END'
import csv
rows = list(csv.reader(open("out")))
head, body = rows[0], [[float(x) for x in row] for row in rows[1:]]
assert head[0].startswith("time") and head[0].endswith("_s"), head
assert len(set(head)) == len(head) and all(name and " " not in name for name in head), head
assert len(body) > 100 and all(len(row) == len(head) for row in body)
assert all(a[0] < b[0] for a, b in zip(body, body[1:])), "time does not rise"
END
cp out full.csv
run replay s.h5 --flight 7 -o -
ok '-o - differs from no -o' cmp -s out full.csv
run replay s.h5 --flight 7 -o h.csv
expect_code 0
expect_silent_out
ok '-o FILE differs from standard output' cmp -s h.csv full.csv
ok 'a part of the file was left' [ -z "$(ls | grep part)" ]
run replay s.h5 --flight 7 --every 0.5 -o coarse.csv
expect_code 0
ok 'rows stand closer than asked' "$python" - <<'END'
import csv
time = [float(row[0]) for row in list(csv.reader(open("coarse.csv")))[1:]]
assert len(time) > 10
assert all(b - a > 0.5 - 1e-9 for a, b in zip(time, time[1:-1])), min(b - a for a, b in zip(time, time[1:]))
END

printf 'mine' >h.csv
run replay s.h5 --flight 7 -o h.csv
expect_refusal 4 'h\.csv: the output exists'
ok 'the file was overwritten' [ "$(cat h.csv)" = mine ]
run replay s.h5 --flight 7 -o h.csv --overwrite
expect_code 0
ok '--overwrite did not write' cmp -s h.csv full.csv
run replay s.h5 --flight 40 -o h.csv --overwrite
expect_refusal 3 'no flight 40; the store holds flights 0 to 39'
ok 'a refused replay changed the file' cmp -s h.csv full.csv
run replay s.h5 --flight 3 -o nowhere/h.csv
expect_refusal 4 'nowhere/h\.csv: the output cannot be written: No such file or directory; name a file in a folder that exists'
mkdir folder
run replay s.h5 --flight 3 -o folder
expect_refusal 4 'folder'
if [ -w /dev/full ]; then
    run replay s.h5 --flight 3 -o /dev/full
    expect_refusal 4 '/dev/full: .*No space left on device'
    what='rollcast replay >/dev/full'
    code=0
    "$program" replay s.h5 --flight 3 >/dev/full 2>err || code=$?
    : >out
    expect_refusal 4 'standard output: .*No space left on device'
fi
ok 'replay changed the store' cmp -s s.h5 kept.h5

# A store in which one stored number was changed by the least possible amount: it is refused, and with its seal made good again
# replay must notice.
"$python" - <<'END'
import h5py
import numpy as np
with h5py.File("s.h5", "r+") as store:
    column = store["measures/apogee_m"]
    column[7] = np.nextafter(column[7], np.inf)
END
run replay s.h5 --flight 7
expect_refusal 4 'changed'
"$python" "$root/tests/cli/reseal.py" s.h5
run replay s.h5 --flight 7 -o differs.csv
expect_code 70
expect_err 'flight 7: 1 stored number'
run replay s.h5 --flight 8 -o same.csv
expect_code 0

finish
