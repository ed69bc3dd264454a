"""The password for a calendar server: asked for where it is kept, and never written, shown or told in an error."""

from __future__ import annotations

import contextlib
import netrc
import os
import shlex
import subprocess
from dataclasses import dataclass, field
from pathlib import Path

from showrunner.errors import BadInput
from showrunner.storage.settings import setting

COMMAND = "password_command"
"""The setting that holds the command; its first line is the password."""
COMMAND_SECONDS = 60
"""How long the command may take: it may ask for something."""
KEYRING = "showrunner"
"""Under `KEYRING:HOST` and the person's name the password is looked for in the keyring of the system."""


@dataclass(frozen=True)
class SignIn:
    """Who signs in, and with what."""

    user: str
    """The name."""
    password: str = field(repr=False)
    """The password; it is not shown."""


def sign_in(host: str, user: str = "", command: str = "") -> SignIn | None:
    """Who signs in on a server.

    A command that is named comes first, then the file `.netrc`, then the command of the settings, then the keyring.

    Args:
        host: the server.
        user: the name; empty for the one that `.netrc` has.
        command: a command whose first line is the password; empty for none.

    Returns:
        None if no name is known: then the server is asked without.

    Raises:
        BadInput: the command fails, or a name is known and no password.
    """
    if command:
        return SignIn(_named(user), _from_command(command))
    if found := _from_netrc(host, user):
        return found
    if not user:
        return None
    if kept := setting(COMMAND):
        return SignIn(user, _from_command(kept))
    password = _from_keyring(host, user)
    if password is None:
        way_out = f"put it into .netrc or the keyring (as {KEYRING}:{host}), or give --password-command"
        raise BadInput(f"no password is known for {user}", host, way_out)
    return SignIn(user, password)


def _named(user: str) -> str:
    if not user:
        raise BadInput("a password needs a name", "--password-command", "give --user too")
    return user


def _from_command(command: str) -> str:
    """The first line that a command prints; what it says of errors is not repeated, for it may be told there."""
    where, way_out = "the command for the password", "try it by itself"
    try:
        words = shlex.split(command)
        done = subprocess.run(words, stdout=subprocess.PIPE, timeout=COMMAND_SECONDS, check=False)
        lines = done.stdout.decode().splitlines()
    except (OSError, ValueError, IndexError):
        raise BadInput("it cannot be run, or prints no text", where, way_out) from None
    except subprocess.TimeoutExpired:
        raise BadInput(f"it did not end within {COMMAND_SECONDS} seconds", where, way_out) from None
    if done.returncode or not lines or not lines[0]:
        why = f"it ended with {done.returncode}" if done.returncode else "it printed nothing"
        raise BadInput(why, where, way_out)
    return lines[0]


def _from_netrc(host: str, user: str) -> SignIn | None:
    """Name and password of a server in `.netrc` (or the file that NETRC names); None if it has none."""
    path = Path(os.environ.get("NETRC") or "~/.netrc")
    with contextlib.suppress(RuntimeError):
        path = path.expanduser()
    if not path.is_file():
        return None
    try:
        found = netrc.netrc(path).hosts.get(host)
    except (netrc.NetrcParseError, OSError, UnicodeDecodeError):  # its message may quote the password
        way_out = "put it right, and let nobody but you read it"
        raise BadInput("it cannot be read as such a file", str(path), way_out) from None
    if not found or (user and found[0] != user):
        return None
    return SignIn(found[0], found[2] or "")


def _from_keyring(host: str, user: str) -> str | None:
    """The password that the keyring of the system has; None if there is none, or no keyring."""
    try:
        import keyring
        from keyring.errors import KeyringError
    except ImportError:
        return None
    try:
        found: str | None = keyring.get_password(f"{KEYRING}:{host}", user)
    except (KeyringError, RuntimeError):
        return None
    return found
