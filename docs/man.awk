# Writes man pages from commands.md: rollcast-COMMAND.1 from each section "rollcast COMMAND", rollcast.1 from the rest.
# usage: awk -v folder=FOLDER -v version=VERSION -f man.awk commands.md

# Inline marks of the page as marks of troff; what troff would take for its own is escaped.
function inline(text,    out, at, inside) {
    gsub(/\\/, "\\e", text)
    gsub(/-/, "\\-", text)
    while (match(text, /\[[^]]*\]\([^)]*\)/)) {
        at = substr(text, RSTART + 1, index(substr(text, RSTART), "]") - 2)
        text = substr(text, 1, RSTART - 1) at substr(text, RSTART + RLENGTH)
    }
    out = ""
    inside = 0
    while ((at = index(text, "`")) > 0) {
        out = out substr(text, 1, at - 1) (inside ? "\\fR" : "\\fB")
        text = substr(text, at + 1)
        inside = !inside
    }
    return out text
}

# A line of running text: one that begins with a point or a quote would be a request.
function say(text) {
    text = inline(text)
    if (text ~ /^[.']/) text = "\\&" text
    print text > page
}

function close_block() {
    if (in_example) print ".EE\n.RE" > page
    in_example = 0
}

# A page in work: name, one line of what it is, synopsis. The description comes with the lines that follow.
function begin(name, summary, synopsis) {
    page = folder "/" name ".1"
    print ".TH " toupper(name) " 1 \"\" \"rollcast " version "\" \"Rollcast\"" > page
    print ".SH NAME\n" name " \\- " inline(summary) > page
    print ".SH SYNOPSIS\n" inline(synopsis) > page
    print ".SH DESCRIPTION" > page
    need_paragraph = 0
    n_pages++
}

# The first sentence of a section, without its end: what the page is about.
function first_sentence(text) {
    sub(/[.:;,(].*/, "", text)
    gsub(/`/, "", text)
    return tolower(substr(text, 1, 1)) substr(text, 2)
}

NR == 1 {
    page = ""
    begin("rollcast", "odds of usable footage from a camera platform that a motor turns against the roll", "`rollcast` COMMAND [OPTION]... FILE...")
    next
}

/^## rollcast / {
    close_block()
    command = $3
    commands = commands (commands == "" ? "" : ", ") "rollcast-" command "(1)"
    waiting = 1
    synopsis = ""
    next
}

/^## / {
    close_block()
    page = folder "/rollcast.1"
    waiting = 0
    print ".SH " toupper(substr($0, 4)) > page
    need_paragraph = 0
    next
}

/^### / {
    close_block()
    print ".SS " inline(substr($0, 5)) > page
    need_paragraph = 0
    next
}

waiting && /^    / { synopsis = substr($0, 5); next }
waiting && /^$/ { next }
waiting {
    begin("rollcast-" command, first_sentence($0), "`" synopsis "`")
    waiting = 0
}

/^    / {
    if (!in_example) print ".PP\n.RS 4\n.EX" > page
    in_example = 1
    say(substr($0, 5))
    next
}

{ if (!/^$/) close_block() }

/^$/ { need_paragraph = 1; in_list = 0; next }
/^\|[-|]*\|$/ { next }

/^\|/ {
    line = $0
    sub(/^\| */, "", line)
    sub(/ *\|$/, "", line)
    cut = index(line, " | ")
    head = substr(line, 1, cut - 1)
    rest = substr(line, cut + 3)
    if (head == "option" || head == "member" || head == "code") next # the table's own head
    gsub(/ \| /, "; ", rest)
    print ".TP" > page
    say(head)
    say(rest)
    need_paragraph = 1
    next
}

/^- / {
    print ".IP \\(bu 2" > page
    say(substr($0, 3))
    in_list = 1
    need_paragraph = 0
    next
}

{
    if (need_paragraph && !in_list) print ".PP" > page
    need_paragraph = 0
    sub(/^ +/, "")
    say($0)
}

END {
    close_block()
    page = folder "/rollcast.1"
    print ".SH SEE ALSO\n" inline(commands) ", gnuplot(1), h5dump(1)" > page
    if (n_pages < 2) exit 1
}
