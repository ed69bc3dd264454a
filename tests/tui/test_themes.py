"""The grounds can be read: contrast of text after W3C WCAG 2.1, success criterion 1.4.3 (at least 4.5 : 1)."""

from __future__ import annotations

import pytest
from textual.theme import Theme

from showrunner.tui.themes import INDIGO, LINEN


def luminance(color: str) -> float:
    """Relative luminance, W3C WCAG 2.x definition (threshold 0.04045)."""
    channels = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, two: str) -> float:
    light, dark = sorted((luminance(one), luminance(two)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_agrees_with_known_values() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.542, abs=0.001)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.478, abs=0.001)


@pytest.mark.parametrize("theme", [LINEN, INDIGO], ids=lambda theme: theme.name)
def test_every_text_can_be_read_on_every_ground(theme: Theme) -> None:
    muted = theme.variables["muted"]
    for ground in (theme.background, theme.surface):
        for text in (theme.foreground, muted, theme.accent, theme.error, theme.primary, theme.secondary):
            assert contrast(str(text), str(ground)) >= 4.5, (text, ground)
    assert contrast(str(theme.background), theme.primary) >= 4.5
    assert contrast(str(theme.foreground), str(theme.panel)) >= 4.5
