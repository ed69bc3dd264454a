"""Completion in the shell: its scripts, and what is answered when the Tab key is pressed.

The shell hands over the line up to the cursor as it is typed. It is answered with one line for each thing offered:
what it is, the text to be put in, quoted as the shell needs it, and what to tell beside it, with tabs between.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence

import click
from click.shell_completion import CompletionItem, ShellComplete, split_arg_string

from showrunner.domain.naming import cleaned
from showrunner.domain.record import record
from showrunner.offering import OPEN_ENDED

ASKED = "_SHOWRUNNER_COMPLETE"
"""Variable that names the shell if completion is asked for."""
LINE = "SHOWRUNNER_LINE"
"""Variable with the line up to the cursor."""
BREAKS = "SHOWRUNNER_BREAKS"
"""Variable with the signs at which bash begins a new word to put in, though the argument goes on."""

WORD, FILE, FOLDER, STAY = "word", "file", "folder", "stay"
"""What a line of the answer tells: a text that ends the word; that files or folders are wanted; and that what is typed
stays, since what the offered texts share is not it. A text that goes on is `OPEN_ENDED`."""

BASH = r"""
_showrunner_completion() {
    local kind text program=${1/#\~/$HOME}
    COMPREPLY=()
    while IFS=$'\t' read -r kind text _; do
        case $kind in
            word) COMPREPLY+=("$text") ;;
            stem) COMPREPLY+=("$text"); compopt -o nospace ;;
            stay) COMPREPLY+=(' ') ;;
            file) compopt -o default ;;
            folder) compopt -o dirnames ;;
        esac
    done < <(SHOWRUNNER_LINE="${COMP_LINE:0:COMP_POINT}" SHOWRUNNER_BREAKS="$COMP_WORDBREAKS" \
        _SHOWRUNNER_COMPLETE=bash "$program" 2>/dev/null)
}
complete -o nosort -F _showrunner_completion showrunner
"""

ZSH = r"""#compdef showrunner
_showrunner_completion() {
    local line stay=
    local -a parts texts told stems stems_told
    local typed="${(j: :)words[1,CURRENT]}"
    for line in "${(@f)$(SHOWRUNNER_LINE=$typed _SHOWRUNNER_COMPLETE=zsh ${~words[1]} 2>/dev/null)}"; do
        parts=("${(@ps:\t:)line}")
        case $parts[1] in
            word) texts+=("$parts[2]"); told+=("$parts[2]${parts[3]:+  $parts[3]}") ;;
            stem) stems+=("$parts[2]"); stems_told+=("$parts[2]${parts[3]:+  $parts[3]}") ;;
            stay) stay=1 ;;
            file) compset -P '--*='; _files ;;
            folder) compset -P '--*='; _files -/ ;;
        esac
    done
    (( $#texts )) && compadd -U -l -V names -d told -a texts
    (( $#stems )) && compadd -U -S '' -l -V stems -d stems_told -a stems
    [[ -n $stay ]] && compstate[insert]= compstate[list]='list force'
    return 0
}
(( $+functions[compdef] )) || { autoload -Uz compinit && compinit -i }
compdef _showrunner_completion showrunner
"""

FISH = r"""function __showrunner_completion
    set -l program (commandline -opc)[1]
    for line in (env SHOWRUNNER_LINE=(commandline -cp | string collect) _SHOWRUNNER_COMPLETE=fish $program 2>/dev/null)
        set -l parts (string split \t -- $line)
        switch $parts[1]
            case word stem
                printf '%s\t%s\n' $parts[2] $parts[3]
            case file
                __fish_complete_path (commandline -ct)
            case folder
                __fish_complete_directories (commandline -ct)
        end
    end
end
complete -c showrunner -f -a '(__showrunner_completion)'
"""

SCRIPTS = {"bash": BASH, "zsh": ZSH, "fish": FISH}
"""What each shell runs to have completion."""

_SAFE = re.compile(r"[\w%+,./:=@-]", re.ASCII)
_END = "\0"


def answer(command: click.Command, given: Mapping[str, str]) -> str:
    """What is offered for a line; nothing, whatever fails.

    Args:
        command: the whole command line.
        given: the variables that the shell gives.
    """
    try:
        return "".join(f"{line}\n" for line in _answer(command, given))
    except Exception:  # noqa: BLE001 - a key press in a shell must never show a fault
        return ""


def _answer(command: click.Command, given: Mapping[str, str]) -> list[str]:
    shell, line = given[ASKED], given.get(LINE, "")
    *words, last = split_arg_string(line + _END)
    begun = last.removesuffix(_END)
    items = ShellComplete(command, {}, "showrunner", ASKED).get_completions(words[1:], begun)
    option, sign, _ = begun.partition("=")
    start = f"{option}{sign}" if sign and option.startswith("--") else ""
    found = [(_kind(item), start + cleaned(item.value), cleaned(item.help or "")) for item in items]
    if shell == "bash":
        typed = _typed(line, given.get(BREAKS, ""))
        found = [(kind, text, told) for kind, value, told in found if (text := typed.put(value)) is not None]
        begun = typed.replaced
    told = ["\t".join(part) for part in found]
    return [*told, STAY] if len(found) > 1 and not _all_begin([text for _, text, _ in found], begun) else told


def _all_begin(texts: Sequence[str], begun: str) -> bool:
    """Whether the beginning that all texts share begins as what was typed; shells put that in its place."""
    shared = os.path.commonprefix(list(texts))  # noqa: RUF071 - by signs, for they are no paths
    return shared.casefold().startswith(begun.casefold())


def _kind(item: CompletionItem[str]) -> str:
    return {"file": FILE, "dir": FOLDER, OPEN_ENDED: OPEN_ENDED}.get(item.type, WORD)


@record
class Typed:
    """The word at the cursor as bash sees it."""

    kept: str
    """What of the argument, as it is read, bash leaves as it stands: all to the last sign at which words break."""
    replaced: str
    """What bash puts something else in place of, as it is typed."""
    mark: str
    """The mark of the quotation that is open; empty if none is."""

    def put(self, value: str) -> str | None:
        """What stands in place of `replaced` so that the argument is this value; None if nothing can."""
        return _quoted(value.removeprefix(self.kept), self.mark) if value.startswith(self.kept) else None


def _typed(line: str, breaks: str) -> Typed:
    """The last word of a line."""
    word = broken = quoted = at = 0
    mark = ""
    while at < len(line):
        sign = line[at]
        if sign == "\\" and mark != "'":
            at += 1
        elif mark:
            mark = "" if sign == mark else mark
        elif sign in "\"'":
            mark, quoted = sign, at
        elif sign.isspace():
            word = broken = at + 1
        elif sign in breaks:
            broken = at + 1
        at += 1
    end = quoted if mark else broken
    return Typed("".join(split_arg_string(line[word:end])), line[end + len(mark) :], mark)


def _quoted(text: str, mark: str) -> str:
    """A text as bash reads it back, in an open quotation or in none."""
    if not mark:
        return "".join(sign if _SAFE.match(sign) or not sign.isascii() else f"\\{sign}" for sign in text)
    escaped = re.sub(r"([\\\"$`])", r"\\\1", text).replace("!", '"\\!"')
    quoted = text.replace("'", "'\\''") if mark == "'" else escaped
    return quoted + mark if quoted.endswith(mark) else quoted  # bash adds no mark after one
