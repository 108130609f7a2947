# Completion of rollcast for bash. Commands and options are asked of the program, so that they are those of the one installed.
_rollcast()
{
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} program=${COMP_WORDS[0]} command=${COMP_WORDS[1]} words
    COMPREPLY=()
    if [ "$COMP_CWORD" -eq 1 ]; then
        words=$("$program" --help 2>/dev/null | sed -n '/^Commands:/,/^$/s/^  \([a-z]*\) .*/\1/p')
        mapfile -t COMPREPLY < <(compgen -W "$words --help --version" -- "$word")
        return
    fi
    case $word in
    -*)
        words=$("$program" "$command" --help 2>/dev/null | grep -o '^  \(-.,\|   \) --[a-z-]*' | grep -o -- '--[a-z-]*')
        mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
        return ;;
    esac
    case $before in
    --flights|--flight|--seed|--threads|--shard|--every|--stop-width|--stop-after|--need|--odds|--confidence|--failures|--fly|--vary|--relax) return ;; # a number
    esac
    [ "$before" != --status-file ] || { mapfile -t COMPREPLY < <(compgen -f -- "$word"); return; }
    compopt -o filenames 2>/dev/null
    case $command in
    check|fly|trade) mapfile -t COMPREPLY < <(compgen -f -X '!*.json' -- "$word"; compgen -d -- "$word") ;;
    *) mapfile -t COMPREPLY < <(compgen -f -X '!*.h5' -- "$word"; compgen -d -- "$word") ;;
    esac
    [ ${#COMPREPLY[@]} -gt 0 ] || mapfile -t COMPREPLY < <(compgen -f -- "$word")
}
complete -F _rollcast rollcast
