# Sourced by every script here: runs the program in a scratch folder of its own and holds exit code, standard output and
# standard error against what is expected. Usage of a script: sh NAME.sh PROGRAM SOURCE_ROOT
set -u
program=$1
root=$2
python=${PYTHON:-/usr/bin/python3}
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
trap 'exit 1' INT TERM
cd "$scratch" || exit 1
n_checks=0
n_failed=0
what=

# run WORDS...: the program with these words; its exit code in $code, its streams in files out and err.
run() {
    what="rollcast $*"
    code=0
    "$program" "$@" >out 2>err </dev/null || code=$?
}

fail() {
    n_failed=$((n_failed + 1))
    echo "FAILED: $what: $1"
    sed 's/^/    out: /' out 2>/dev/null | head -20
    sed 's/^/    err: /' err 2>/dev/null | head -20
}

# ok CONDITION-TEXT COMMAND...: the command must succeed.
ok() {
    n_checks=$((n_checks + 1))
    text=$1
    shift
    "$@" >/dev/null 2>&1 || fail "$text"
}

expect_code() { ok "exit code $code, wanted $1" [ "$code" -eq "$1" ]; }
expect_out() { ok "standard output lacks /$1/" grep -E -q -- "$1" out; }
expect_err() { ok "standard error lacks /$1/" grep -E -q -- "$1" err; }
expect_err_lines() { ok "$(wc -l <err) lines on standard error, wanted $1" [ "$(wc -l <err)" -eq "$1" ]; }
expect_silent_out() { ok "standard output is not empty" [ ! -s out ]; }
expect_silent_err() { ok "standard error is not empty" [ ! -s err ]; }

# One clear line, this exit code, nothing on standard output.
expect_refusal() {
    expect_code "$1"
    expect_err_lines 1
    expect_err "^rollcast: .*$2"
    expect_silent_out
}

# A small campaign to change at will: the first demo campaign and its tables, copied.
take_campaign() {
    cp "$root"/campaigns/*.json "$root"/campaigns/*.csv . || exit 1
    cp first.json good.json
}

# edit ASSIGNMENTS: write bad.json, good.json with Python statements applied to `c`.
edit() {
    "$python" -c 'import json, sys
c = json.load(open("good.json"))
exec(sys.argv[1])
json.dump(c, open("bad.json", "w"))' "$1" || exit 1
}

finish() {
    echo "$n_checks checks, $n_failed failed"
    [ "$n_checks" -gt 0 ] && [ "$n_failed" -eq 0 ]
    exit $?
}
