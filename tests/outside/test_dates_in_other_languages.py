"""Days as other languages write them, after the Unicode CLDR (read by babel): each is read as the day that was meant.

Unicode Common Locale Data Repository, `dateFormats` and `months` of the locales de, fr, it, es and nl
(https://cldr.unicode.org).
"""

from datetime import date

import pytest

from showrunner.errors import BadInput
from showrunner.storage.written_dates import read_written

dates = pytest.importorskip("babel.dates", reason="babel is not installed (pip install 'showrunner[test]')")

LANGUAGES = ("de", "fr", "it", "es", "nl")
WIDTHS = {"d MMMM y": 10, "d MMM y": 10, "MMMM y": 7, "MMM y": 7}
"""Patterns of the CLDR, and how much of an ISO date each says."""


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("pattern", WIDTHS)
def test_days_and_months_as_the_cldr_writes_them(language: str, pattern: str) -> None:
    for month in range(1, 13):
        day = date(1911, month, 23)
        known = read_written(dates.format_date(day, pattern, locale=language)).date
        assert known is not None
        assert known.text == day.isoformat()[: WIDTHS[pattern]]


@pytest.mark.parametrize("language", LANGUAGES)
def test_long_dates_as_the_cldr_writes_them(language: str) -> None:
    for month in range(1, 13):
        day = date(1911, month, 4)
        for width in ("long", "medium"):
            text = dates.format_date(day, width, locale=language)
            try:
                known = read_written(text, day_first=True).date
            except BadInput as fault:
                pytest.fail(f"{text}: {fault.sentence()}")
            assert known is not None
            assert known.text == day.isoformat()
