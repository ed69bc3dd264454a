"""How far the long tests go."""

import os

LONG = int(os.environ.get("SHOWRUNNER_LONG", "500"))
"""Number of random problems in a long test; set by the environment variable SHOWRUNNER_LONG."""
