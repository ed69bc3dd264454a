"""The look: a tailor's workroom, on linen or at indigo dusk; thin rules, one accent, one colour for trouble."""

from __future__ import annotations

import os

from textual.theme import Theme

from showrunner.storage.settings import keep_setting, setting

LINEN = Theme(
    name="linen",
    primary="#2f4a63",
    secondary="#5b5347",
    accent="#8a3b12",
    error="#9b1c31",
    warning="#9b1c31",
    success="#2f5d3a",
    foreground="#2b2620",
    background="#f4efe4",
    surface="#ece5d6",
    panel="#e2d9c6",
    dark=False,
    variables={"muted": "#655c4e", "rule": "#c9bda5", "footer-key-foreground": "#2f4a63"},
)
"""Linen ground."""

INDIGO = Theme(
    name="indigo",
    primary="#9db7d6",
    secondary="#b7ad9a",
    accent="#e8b45c",
    error="#ff9a8c",
    warning="#ff9a8c",
    success="#9ccfa4",
    foreground="#e6e1d6",
    background="#161a2b",
    surface="#1e2338",
    panel="#2a3049",
    dark=True,
    variables={"muted": "#a3a0a8", "rule": "#3d4462", "footer-key-foreground": "#9db7d6"},
)
"""Indigo dusk."""

GROUNDS = {theme.name: theme for theme in (LINEN, INDIGO)}
"""Both by name."""

GROUND = "ground"
"""The setting that holds the theme used last."""


def no_color() -> bool:
    """Whether the user asked for no colour at all (no-color.org: set and not empty)."""
    return bool(os.environ.get("NO_COLOR"))


def remembered_ground() -> str:
    """The theme used last; the light one if none is remembered."""
    name = setting(GROUND)
    return name if name in GROUNDS else LINEN.name


def remember_ground(name: str) -> None:
    """Keep the theme for the next time; it is no loss if that cannot be done."""
    keep_setting(GROUND, name)
