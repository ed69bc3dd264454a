"""`python -m showrunner` is the command `showrunner`."""

from showrunner.cli import main

main()
