"""Time zones by their IANA name."""

from __future__ import annotations

from functools import cache
from zoneinfo import ZoneInfo

from showrunner.errors import BadInput


@cache
def is_zone(name: str) -> bool:
    """Whether the system knows a zone of this IANA name."""
    try:
        ZoneInfo(name)
    except (OSError, ValueError, LookupError):  # a folder of zones, a name that leaves it, not found
        return False
    return True


def zone_or_utc(name: str) -> ZoneInfo:
    """The zone of this IANA name, or UTC if the system does not know it, where a time is only told."""
    return ZoneInfo(name if is_zone(name) else "UTC")


def check_zone(name: str, where: str) -> None:
    """Refuse a zone that the system does not know.

    Args:
        name: IANA name (`Australia/Hobart`).
        where: the thing it belongs to, for the error.

    Raises:
        BadInput: there is no such zone.
    """
    if not is_zone(name):
        raise BadInput(f"'{name}' is not a time zone", where, "give a name like Australia/Hobart")
