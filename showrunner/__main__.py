"""The command `showrunner`, also as `python -m showrunner`."""

import gc
import sys

COLLECT_AFTER = 200_000
"""New objects before garbage is looked for: starting and searching make many that last, and little garbage."""


def main() -> None:
    """Run the command line and exit with its code."""
    gc.set_threshold(COLLECT_AFTER, 20, 50)
    from showrunner.cli import run

    sys.exit(run())


if __name__ == "__main__":
    main()
