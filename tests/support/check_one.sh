# sh check_one.sh FOLDER NAME COMMAND...: a check that is no ctest entry. Its output goes to FOLDER/NAME.log; prints one line
# "passed NAME", or the log's end and "FAILED NAME".
log=$1/$2.log
name=$2
shift 2
if "$@" >"$log" 2>&1 </dev/null; then
    echo "passed $name"
else
    tail -40 "$log"
    echo "FAILED $name (whole log: $log)"
fi
