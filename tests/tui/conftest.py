"""What every test of the screens begins with."""

from screens import demo, no_look_back, own_pace, own_presses, own_settings, time_enough  # noqa: F401
