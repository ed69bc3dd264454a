"""UIDs, cleaned text, and the canonical text of entries."""

from __future__ import annotations

import unicodedata
from datetime import UTC, date, datetime
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.errors import BookDamaged
from showrunner.ical.entry import Entry, clean, make_uid

KEY = "6f1c6f0e-5f3e-4a55-9d37-6b0f3f1b2a77"


def test_uid_is_permanent_and_differs_by_book_and_thing() -> None:
    uid = make_uid(KEY, "episode:apron:slot")
    assert uid == make_uid(KEY, "episode:apron:slot")
    assert str(UUID(uid)) == uid
    assert uid != make_uid(KEY, "episode:apron:shoot")
    assert uid != make_uid("00000000-0000-4000-8000-000000000000", "episode:apron:slot")
    assert make_uid(KEY, "episode:\ud800:slot") != make_uid(KEY, "episode:\ud801:slot")


def test_a_book_without_a_proper_id_is_told_in_a_sentence() -> None:
    with pytest.raises(BookDamaged, match="is damaged; restore a backup"):
        make_uid("my book", "episode:apron:slot")


@given(st.text(st.characters()))
def test_clean_text_holds_no_control_character_and_can_be_encoded(text: str) -> None:
    # RFC 5545 3.1 (p.9-10): no CONTROL character but HTAB in a value; newlines are escaped (3.3.11).
    cleaned = clean(text)
    cleaned.encode("utf-8")
    assert all(unicodedata.category(c) != "Cc" or c in "\t\n" for c in cleaned)
    assert clean(cleaned) == cleaned


def test_clean_keeps_ordinary_text_and_turns_every_line_end_into_one() -> None:
    assert clean("crêpe — “Odile”, 1897\t~") == "crêpe — “Odile”, 1897\t~"
    assert clean("a\r\nb\rc\u2028d\x85e\vf") == "a\nb\nc\nd\ne\nf"
    assert clean("a\x00b\ud800") == "ab\ufffd"


@given(
    st.text(),
    st.one_of(st.dates(), st.datetimes(timezones=st.just(UTC))),
    st.lists(st.text(), max_size=3),
    st.none() | st.integers(0, 9999),
)
def test_canonical_text_reads_back_as_the_same_entry(
    summary: str, start: date, categories: list[str], alarm: int | None
) -> None:
    entry = Entry("u", summary, start, start, "CONFIRMED", tuple(categories), "d", "", alarm, "now")
    assert Entry.from_text(entry.to_text()) == entry


@pytest.mark.parametrize("text", ["", "{}", "[]", "null", '{"start": 3, "end": 4}', '{"start": "x", "end": "y"}'])
def test_a_spoilt_log_is_told_in_a_sentence(text: str) -> None:
    with pytest.raises(BookDamaged, match="what calendars were told cannot be read"):
        Entry.from_text(text)


def test_any_exported_change_changes_the_canonical_text() -> None:
    base = Entry("u", "s", datetime(2026, 3, 1, tzinfo=UTC), datetime(2026, 3, 2, tzinfo=UTC), "CONFIRMED")
    others = [
        Entry("u", "t", base.start, base.end, "CONFIRMED"),
        Entry("u", "s", base.start, base.end, "TENTATIVE"),
        Entry("u", "s", date(2026, 3, 1), date(2026, 3, 2), "CONFIRMED"),
        Entry("u", "s", base.start, base.end, "CONFIRMED", alarm_minutes=1, alarm_text="x"),
    ]
    assert len({base.to_text(), *(other.to_text() for other in others)}) == 5
