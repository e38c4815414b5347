"""completion: the script of a shell that asks the command itself what may stand behind TAB.

click answers the shell, and has scripts of its own. These are ours since its scripts lose names: its bash took one of
several words for several, its fish cut it at the first comma, and none of them could finish `--rig=B`.
"""

from __future__ import annotations

from typing import Final

import click

_BASH: Final = r"""
_washwater_completion() {
    local IFS=$'\n' line=${COMP_LINE:0:COMP_POINT} cur=${COMP_WORDS[COMP_CWORD]}
    local at=$COMP_CWORD rest before='' response item kind value

    # bash begins a new word at a colon or '=' too: what stands before it stays where it is
    rest=${line%"$cur"}
    while (( at > 1 )) && [[ -n $rest && $rest != *[[:space:]] ]]; do
        (( at-- ))
        before=${COMP_WORDS[at]}$before
        rest=${rest%"${COMP_WORDS[at]}"}
    done
    [[ $cur == [:=]* ]] && before+=$cur
    [[ $before == -*=* ]] && before=${before#*=}
    [[ -n $cur ]] || line+=" ''"

    # the last word of the line is the one that is being typed
    response=$(env COMP_WORDS="$line" COMP_CWORD=-1 _WASHWATER_COMPLETE=bash_complete "$1" 2>/dev/null)
    COMPREPLY=()
    for item in $response; do
        kind=${item%%,*} value=${item#*,}
        case $kind in
        dir) compopt -o dirnames ;;
        file) compopt -o default ;;
        plain)
            case $cur in
            \"*)
                value=${value//\\/\\\\}
                value=${value//\"/\\\"}
                value=${value//\$/\\\$}
                value=${value//\`/\\\`}
                ;;
            \'*) value=${value//\'/\'\\\'\'} ;;
            *)
                printf -v value %q "$value"
                [[ -n $before && ${value,,} == "${before,,}"* ]] && value=${value:${#before}}
                ;;
            esac
            COMPREPLY+=("$value")
            ;;
        esac
    done
}
complete -o nosort -F _washwater_completion washwater
"""

_ZSH: Final = r"""
#compdef washwater

_washwater_completion() {
    local -a response plain described
    local kind value told
    response=("${(@f)$(env COMP_WORDS="${words[*]}" COMP_CWORD=$((CURRENT-1)) \
_WASHWATER_COMPLETE=zsh_complete washwater 2>/dev/null)}")
    [[ ${words[CURRENT]} == -*=* ]] && compset -P '*='
    for kind value told in $response; do
        case $kind in
        dir) _path_files -/ ;;
        file) _path_files -f ;;
        plain) if [[ $told == _ ]]; then plain+=("$value"); else described+=("$value:$told"); fi ;;
        esac
    done
    (( $#described )) && _describe -V unsorted described -U
    (( $#plain )) && compadd -M 'm:{[:lower:][:upper:]}={[:upper:][:lower:]}' -V unsorted -a plain
}

if [[ $zsh_eval_context[-1] == loadautofunc ]]; then
    _washwater_completion "$@"
else
    compdef _washwater_completion washwater
fi
"""

_FISH: Final = r"""
function _washwater_completion
    set -l response (env _WASHWATER_COMPLETE=fish_complete COMP_WORDS=(commandline -cp) \
COMP_CWORD=(commandline -t) washwater 2>/dev/null)
    set -l option (string match -r -- '^--?[^=]+=' (commandline -t))
    for item in $response
        set -l parts (string split -m 1 "," $item)
        switch $parts[1]
            case dir
                __fish_complete_directories $parts[2]
            case file
                __fish_complete_path $parts[2]
            case plain
                echo "$option$parts[2]"
        end
    end
end
complete --no-files --command washwater --arguments "(_washwater_completion)"
"""


_SCRIPTS: Final = {"bash": _BASH, "zsh": _ZSH, "fish": _FISH}


@click.command("completion")
@click.argument("shell_name", metavar="bash|zsh|fish", type=click.Choice(tuple(_SCRIPTS)))
def completion_command(shell_name: str) -> None:
    """Print the script that lets a shell complete commands, options, and the names in the book.

    \b
    bash, in ~/.bashrc:                        eval "$(washwater completion bash)"
    zsh, in ~/.zshrc:                          eval "$(washwater completion zsh)"
    fish, in ~/.config/fish/config.fish:       washwater completion fish | source
    """
    click.echo(_SCRIPTS[shell_name].strip())
