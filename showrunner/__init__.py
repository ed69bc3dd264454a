"""showrunner: a terminal planner for one person's series about a collection of historic dress."""

__version__ = "0.1.0"
