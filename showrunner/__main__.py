"""The command `showrunner`, also as `python -m showrunner`."""

import gc
import os
import signal
import sys

COLLECT_AFTER = 200_000
"""New objects before garbage is looked for: starting and searching make many that last, and little garbage."""

INTERRUPTED = 130
"""Exit code after Ctrl-C."""


def main() -> None:
    """Run the command line and exit with its code."""
    code = INTERRUPTED
    try:
        _fill_closed()
        gc.set_threshold(COLLECT_AFTER, 20, 50)
        from showrunner.cli import run

        code = run()
    except KeyboardInterrupt:  # before there is a command, or after its end
        pass
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    sys.exit(code)


def _fill_closed() -> None:
    """Put nothing in place of standard streams that are closed, or the next file opened would be taken for one."""
    for number, mode in ((0, os.O_RDONLY), (1, os.O_WRONLY), (2, os.O_WRONLY)):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, mode)


if __name__ == "__main__":
    main()
