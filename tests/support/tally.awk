# Counts test cases in ctest's LastTest.log and prints "PASSED FAILED".
# A cmocka program counts by its cases, anything else as one. A program that failed without a failed case (a crash, a time-out)
# adds one failure, so that nothing is lost in the count. ctest logs a program it cannot find as passed: that is a failure too.
/^[0-9]+\/[0-9]+ Testing: /                { ok = 0; bad = 0; listed = 0 }
/^\[       OK \]/                          { ok++ }
/^\[  FAILED  \] [0-9]+ test/              { listed = 1 }
/^\[  FAILED  \] [A-Za-z_][A-Za-z0-9_]*$/  { bad += !listed }
/^Unable to find executable/               { is_absent = 1 }
/^Test Passed\./ {
    if (is_absent) {
        failed++
    } else {
        passed += ok > 0 ? ok : 1
    }
    is_absent = 0
}
/^Test Failed\./ || /^Test Timeout/ {
    passed += ok
    failed += bad > 0 ? bad : 1
    is_absent = 0
}
END { printf "%d %d\n", passed, failed }
