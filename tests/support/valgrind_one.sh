# sh valgrind_one.sh BUILD PROGRAM: one test program under the memory checker.
sh "$(dirname "$0")/check_one.sh" "$1" "$(basename "$2")" timeout 300 valgrind -q --error-exitcode=99 --leak-check=full \
    --errors-for-leak-kinds=definite "$2"
