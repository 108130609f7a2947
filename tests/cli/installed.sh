# What `cmake --install` and cpack make of a build: the example built against the installed tree, man pages, completion, package.
# usage: installed.sh PROGRAM ROOT BUILD
build=$3
. "$(dirname "$0")/expect.sh"

ok 'cmake --install fails' cmake --install "$build" --prefix "$scratch/tree"
tree=$scratch/tree
program=$tree/bin/rollcast
run --version
expect_code 0
for file in include/rollcast/rollcast.h share/rollcast/campaigns/first.json share/man/man1/rollcast.1 \
    share/bash-completion/completions/rollcast share/doc/rollcast/commands.md share/doc/rollcast/examples/fly_and_read.c; do
    ok "$file is not installed" [ -f "$tree/$file" ]
done

# The C interface: the example against the installed tree only, its answer against the program's.
pc=$(find "$tree" -name rollcast.pc)
ok 'no pkg-config file' [ -f "$pc" ]
PKG_CONFIG_PATH=$(dirname "$pc")
export PKG_CONFIG_PATH
ok "pkg-config's version is not the program's" grep -q "$(pkg-config --modversion rollcast)" out
what='the example'
# shellcheck disable=SC2046
${CC:-cc} -std=c11 -Wall -Wextra -Werror -I"$tree/include" "$tree/share/doc/rollcast/examples/fly_and_read.c" \
    $(pkg-config --define-variable=prefix="$tree" --cflags --libs rollcast) -o example >out 2>err
expect_code_of_build=$?
ok 'the example does not build' [ $expect_code_of_build -eq 0 ]
code=0
./example "$tree/share/rollcast/campaigns/first.json" example.h5 40 >out 2>err || code=$?
expect_code 0
expect_out '^Lapwing, coarse drive: 40 flights, held 0\.[0-9]{6} of the ascent in the mean$'
cp out said
run odds example.h5 --json
ok "the example's mean is not the program's" "$python" -c 'import json, re
mean = [row["mean"] for row in json.load(open("out"))["measures"] if row["name"] == "held_fraction"][0]
assert re.search("held ([0-9.]+)", open("said").read()).group(1) == "%.6f" % mean'
printf '{"name": 1}' >bad.json
code=0
./example bad.json x.h5 40 >out 2>err || code=$?
expect_code 3
expect_err 'bad\.json: /name: '

# Every public header stands on its own.
for header in "$tree"/include/rollcast/*.h; do
    echo "#include <rollcast/$(basename "$header")>" >one.c
    ok "$(basename "$header") does not stand on its own" "${CC:-cc}" -std=c11 -Wall -Wextra -Werror -pedantic -I"$tree/include" -c one.c -o one.o
done

# Man pages: one for the program and each command, without warnings, with every option of the help.
"$program" --help | sed -n '/^Commands:/,/^$/s/^  \([a-z]*\) .*/\1/p' >commands
ok 'no commands' [ -s commands ]
for page in rollcast $(sed 's/^/rollcast-/' commands); do
    what="man $page"
    ok 'there is no page' [ -f "$tree/share/man/man1/$page.1" ]
    LC_ALL=C.UTF-8 MANWIDTH=80 man --warnings -E UTF-8 -l -Tutf8 -P cat "$tree/share/man/man1/$page.1" >page 2>warnings
    ok "warnings: $(head -3 warnings)" [ ! -s warnings ]
    sed 's/.\x08//g' page >plain
    ok 'it has no name and description' grep -E -q "^ +$page +- +[a-z]" plain
    case $page in rollcast-*)
        for option in $("$program" "${page#rollcast-}" --help | grep -o -- '--[a-z-]*' | sort -u | grep -v -e '^--help$'); do
            ok "it lacks $option" grep -q -e "$option" plain
        done ;;
    esac
done
ok 'pages of no command' [ "$(ls "$tree/share/man/man1" | wc -l)" -eq $(($(wc -l <commands) + 1)) ]

# Completion, as bash calls it.
what=completion
cat >complete.sh <<'END'
. "$1"
PATH=$2:$PATH
ask() { COMP_WORDS=(rollcast "$@"); COMP_CWORD=$#; _rollcast; printf '%s ' "${COMPREPLY[@]}"; echo; }
ask o
ask ''
ask fly --s
ask check c
ask odds c
END
mkdir -p there
cd there || exit 1
: >c1.json; : >c2.h5
bash ../complete.sh "$tree/share/bash-completion/completions/rollcast" "$tree/bin" >../out 2>../err
cd .. || exit 1
expect_silent_err
ok "commands beginning with o: $(sed -n 1p out)" [ "$(sed -n 1p out)" = 'odds ' ]
ok "all commands: $(sed -n 2p out)" [ "$(sed -n 2p out)" = "$(tr '\n' ' ' <commands)--help --version " ]
ok "options of fly: $(sed -n 3p out)" sh -c 'sed -n 3p out | grep -q -e "^--seed "'
ok "campaigns: $(sed -n 4p out)" [ "$(sed -n 4p out)" = 'c1.json ' ]
ok "stores: $(sed -n 5p out)" [ "$(sed -n 5p out)" = 'c2.h5 ' ]

# The Debian package: made, complete, with the libraries it needs.
what='cpack -G DEB'
code=0
(cd "$scratch" && cpack --config "$build/CPackConfig.cmake" -G DEB -B "$scratch/deb") >out 2>err || code=$?
expect_code 0
deb=$(find "$scratch/deb" -maxdepth 1 -name 'rollcast_*.deb')
ok 'there is no package' [ -f "$deb" ]
dpkg-deb --info "$deb" >out
expect_out 'Depends: .*libcjson1.*libhdf5'
expect_out 'Recommends: gnuplot-nox'
dpkg-deb --contents "$deb" >out
expect_out '\./usr/bin/rollcast$'
expect_out '\./usr/share/man/man1/rollcast-fly\.1$'
dpkg-deb -x "$deb" unpacked
program=$scratch/unpacked/usr/bin/rollcast
run check "$scratch/unpacked/usr/share/rollcast/campaigns/first.json"
expect_code 0

finish
