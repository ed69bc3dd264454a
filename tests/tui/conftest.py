"""What every test of the screens begins with."""

from screens import demo, own_pace, own_settings, time_enough  # noqa: F401
