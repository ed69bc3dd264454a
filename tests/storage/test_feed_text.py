"""Feeds: the episodes of RSS 2.0 and Atom files, their dates on the house's clock, and the refusals."""

import itertools
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta, timezone
from email.utils import format_datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.errors import BadInput
from showrunner.storage.feed_text import FeedEntry, looks_like_feed, read_feed

ZONE = "Europe/Dublin"

RSS = b"""<?xml version="1.0" encoding="UTF-8"?>
<rss version="2.0" xmlns:other="https://example.org/other">
  <channel>
    <title>The workroom</title>
    <link>https://example.org/</link>
    <pubDate>Mon, 01 Jun 2026 10:00:00 GMT</pubDate>
    <item>
      <title>A bodice &amp;amp; its &lt;i&gt;hooks&lt;/i&gt;</title>
      <other:title>not this one</other:title>
      <link> https://example.org/2 </link>
      <guid isPermaLink="false">two</guid>
      <pubDate>Sun, 22 Mar 2026 23:30:00 -0500</pubDate>
    </item>
    <item>
      <title><![CDATA[Hems < 5 cm]]></title>
      <guid>https://example.org/1</guid>
      <pubDate>Sat, 15 Nov 2025 18:00:00 GMT</pubDate>
    </item>
    <item><title>No date yet</title></item>
  </channel>
</rss>
"""

ATOM = b"""<?xml version="1.0" encoding="utf-8"?>
<feed xmlns="http://www.w3.org/2005/Atom" xml:base="https://example.org/show/">
  <title>The workroom</title>
  <id>urn:example:feed</id>
  <updated>2026-04-01T00:00:00Z</updated>
  <entry>
    <title type="html">A coat &amp;amp; a &lt;b class="x"&gt;hat&lt;/b&gt;&lt;br/&gt;in
      silk &amp;mdash; 1 &amp;lt; 2</title>
    <link rel="self" href="feed.xml"/>
    <link rel="alternate" type="application/pdf" href="2.pdf"/>
    <link href="2"/>
    <id>urn:example:2</id>
    <published>2026-03-22T23:30:00.25-05:00</published>
    <updated>2026-03-30T10:00:00Z</updated>
  </entry>
  <entry>
    <title type="xhtml"><div xmlns="http://www.w3.org/1999/xhtml">Lace, <em>all</em> of it</div></title>
    <link rel="enclosure" href="1.mp4"/>
    <id>urn:example:1</id>
    <updated>2025-07-31T23:30:00Z</updated>
  </entry>
</feed>
"""


def rss(items: str) -> bytes:
    return f"<rss version='2.0'><channel>{items}</channel></rss>".encode()


def titled(title: str) -> str:
    return read_feed(rss(f"<item><title>{title}</title></item>"), "f.xml", ZONE)[0].title


def dated(text: str) -> FeedEntry:
    return read_feed(rss(f"<item><pubDate>{text}</pubDate></item>"), "f.xml", ZONE)[0]


def refusal(data: bytes) -> str:
    with pytest.raises(BadInput) as caught:
        read_feed(data, "feed.xml", ZONE)
    sentence = caught.value.sentence()
    assert sentence.startswith("feed.xml: ")
    assert caught.value.way_out
    assert sentence.isprintable()
    return sentence


def test_rss() -> None:
    assert read_feed(RSS, "feed.xml", ZONE) == (
        FeedEntry(
            "Hems < 5 cm",
            date(2025, 11, 15),
            datetime(2025, 11, 15, 18, tzinfo=UTC),
            "https://example.org/1",
            "https://example.org/1",
            2,
        ),
        FeedEntry(
            "A bodice & its hooks",
            date(2026, 3, 23),
            datetime(2026, 3, 23, 4, 30, tzinfo=UTC),
            "https://example.org/2",
            "two",
            1,
        ),
        FeedEntry("No date yet", None, None, "", "", 3),
    )


def test_atom() -> None:
    assert read_feed(ATOM, "feed.xml", ZONE) == (
        FeedEntry(
            "Lace, all of it",
            date(2025, 8, 1),
            datetime(2025, 7, 31, 23, 30, tzinfo=UTC),
            "",
            "urn:example:1",
            2,
        ),
        FeedEntry(
            "A coat & a hat in silk — 1 < 2",
            date(2026, 3, 23),
            datetime(2026, 3, 23, 4, 30, 0, 250_000, tzinfo=UTC),
            "https://example.org/show/2",
            "urn:example:2",
            1,
        ),
    )


@pytest.mark.parametrize(
    ("zone", "day"),
    [("Europe/Dublin", 1), ("UTC", 31), ("America/New_York", 31), ("Pacific/Auckland", 1)],
)
def test_the_day_is_the_one_of_the_zone(zone: str, day: int) -> None:
    entry = read_feed(ATOM, "feed.xml", zone)[0]
    assert entry.day
    assert entry.day.day == day
    assert entry.instant == datetime(2025, 7, 31, 23, 30, tzinfo=UTC)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "iso-8859-1", "windows-1252"])
def test_encodings(encoding: str) -> None:
    text = (
        f"<?xml version='1.0' encoding='{encoding.removesuffix('-sig')}'?>\n"
        + rss("<item><title>Robe à l&apos;anglaise</title></item>").decode()
    )
    data = text.encode(encoding)
    assert looks_like_feed(data)
    (entry,) = read_feed(data, "f.xml", ZONE)
    assert (entry.title, entry.place) == ("Robe à l'anglaise", 1)


@pytest.mark.parametrize(
    ("written", "title"),
    [
        ("Silk &amp;amp; lace", "Silk & lace"),
        ("Silk &amp; lace", "Silk & lace"),
        ("silk&amp;notions", "silk&notions"),
        ("It&amp;#8217;s &amp;#x201c;late&amp;#x201d;&amp;nbsp;now", "It’s “late” now"),
        ("&lt;em class='a'&gt;Hats&lt;/em&gt;&lt;br /&gt;and gloves", "Hats and gloves"),
        ("<b>Hats</b> too", "Hats too"),
        ("&lt;b&gt;H&lt;/b&gt;ats", "Hats"),
        ("Hats&lt;br&gt;too", "Hats too"),
        ("&lt;p&gt;Hats&lt;/p&gt;&lt;p&gt;too&lt;/p&gt;", "Hats too"),
        ("waist &lt; 60 cm, hips &gt; 80", "waist < 60 cm, hips > 80"),
        ("sizes s&lt;x and y&gt;z", "sizes s<x and y>z"),
        ("  two\n   lines ", "two lines"),
        ("half &amp;#xD800; sign", "half � sign"),
        ("&amp;nosuch; thing", "&nosuch; thing"),
        ("", ""),
    ],
)
def test_titles_of_rss_are_plain_text(written: str, title: str) -> None:
    assert titled(written) == title


@pytest.mark.parametrize(
    ("kind", "written", "title"),
    [
        ("", "Silk &amp;amp; &lt;b&gt;lace&lt;/b&gt;", "Silk &amp; <b>lace</b>"),
        (" type='text'", "a &lt;i&gt; b", "a <i> b"),
        (" type='html'", "&lt;x-y&gt;a&lt;/x-y&gt; &lt;custom&gt;b &amp;lt;i&amp;gt;&lt;!-- c --&gt;", "a b <i>"),
        (" type='HTML'", "caf&amp;eacute;", "café"),
    ],
)
def test_titles_of_atom_are_what_they_say_they_are(kind: str, written: str, title: str) -> None:
    data = f"<feed xmlns='http://www.w3.org/2005/Atom'><entry><title{kind}>{written}</title></entry></feed>"
    assert read_feed(data.encode(), "f.xml", ZONE)[0].title == title


@pytest.mark.parametrize(
    ("text", "day", "instant"),
    [
        ("Thu, 01 Jan 2026 23:30:00 +0000", date(2026, 1, 1), datetime(2026, 1, 1, 23, 30, tzinfo=UTC)),
        ("Wed, 01 Jul 2026 23:30:00 GMT", date(2026, 7, 2), datetime(2026, 7, 1, 23, 30, tzinfo=UTC)),
        ("1 Jul 26 10:00 EDT", date(2026, 7, 1), datetime(2026, 7, 1, 14, tzinfo=UTC)),
        ("Wed, 01 Jul 2026 23:30:00 -0000", date(2026, 7, 2), datetime(2026, 7, 1, 23, 30, tzinfo=UTC)),
        ("2026-07-01T23:30:00Z", date(2026, 7, 2), datetime(2026, 7, 1, 23, 30, tzinfo=UTC)),
        ("2026-07-01 23:30:00+01:00", date(2026, 7, 1), datetime(2026, 7, 1, 22, 30, tzinfo=UTC)),
        ("Wed, 01 Jul 2026 23:30:00 BST", date(2026, 7, 1), None),
        ("Wed, 01 Jul 2026 23:30:00", date(2026, 7, 1), None),
        ("2026-07-01", date(2026, 7, 1), None),
        ("2026-07-01T23:30:00", date(2026, 7, 1), None),
        ("", None, None),
        ("soon", None, None),
        ("Wed, 41 Jul 2026 23:30:00 GMT", None, None),
        ("2026-02-30T10:00:00Z", None, None),
        ("2026-02-30", None, None),
        ("2026-02-03 or so", None, None),
        ("Wed, 01 Jul 2026 23:30:00 +9999", None, None),
        ("Fri, 31 Dec 9999 23:30:00 -1200", None, None),
        ("0001-01-01T00:00:00+05:00", None, None),
    ],
)
def test_dates(text: str, day: date | None, instant: datetime | None) -> None:
    entry = dated(text)
    assert (entry.day, entry.instant) == (day, instant)


@given(
    st.datetimes(datetime(1971, 1, 1), datetime(2100, 1, 1)),
    st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes))),
)
def test_both_ways_to_write_an_instant_give_the_same(at: datetime, zone: timezone) -> None:
    moment = at.replace(microsecond=0, tzinfo=zone)
    mail, iso = dated(format_datetime(moment)), dated(moment.isoformat())
    assert mail.instant == iso.instant == moment
    assert mail.day == iso.day


def test_the_link_is_the_page() -> None:
    items = (
        "<item><guid>https://example.org/a</guid></item>"
        "<item><guid isPermaLink='false'>https://example.org/b</guid></item>"
        "<item><guid>plain</guid></item>"
    )
    assert [(e.link, e.id) for e in reversed(read_feed(rss(items), "f.xml", ZONE))] == [
        ("https://example.org/a", "https://example.org/a"),
        ("", "https://example.org/b"),
        ("", "plain"),
    ]


@pytest.mark.parametrize(
    ("base", "href", "link"),
    [
        ("", "https://example.org/a?b=c", "https://example.org/a?b=c"),
        ("https://example.org/x/", "../a", "https://example.org/a"),
        ("", "a", "a"),
        ("http://[", "a", "a"),
    ],
)
def test_links_of_atom_are_resolved(base: str, href: str, link: str) -> None:
    data = (
        f"<feed xmlns='http://www.w3.org/2005/Atom' xml:base='{base}'><entry><link href='{href}'/></entry></feed>"
    ).encode()
    assert read_feed(data, "f.xml", ZONE)[0].link == link


def test_the_day_of_an_entry_of_atom_is_the_one_of_its_publication() -> None:
    def day(dates: str) -> date | None:
        data = f"<feed xmlns='http://www.w3.org/2005/Atom'><entry>{dates}</entry></feed>"
        return read_feed(data.encode(), "f.xml", ZONE)[0].day

    updated = "<updated>2026-08-02T10:00:00Z</updated>"
    assert day(f"<published>2026-07-01</published>{updated}") == date(2026, 7, 1)
    assert day(f"<published>soon</published>{updated}") == day(updated) == date(2026, 8, 2)


def items(*days: str) -> bytes:
    return rss("".join(f"<item><title>{n}</title><pubDate>{day}</pubDate></item>" for n, day in enumerate(days)))


@pytest.mark.parametrize(
    ("days", "order"),
    [
        (("2026-03-03", "2026-03-02", "2026-03-01"), "210"),
        (("2026-03-01", "2026-03-02", "2026-03-03"), "012"),
        (("2026-03-02", "2026-03-02", "2026-03-01"), "210"),
        (("2026-03-01", "2026-03-02", "2026-03-02"), "012"),
        (("2026-03-02", "2026-03-03", "2026-03-01"), "201"),
        (("2026-03-02", "2026-03-03", "2026-03-02"), "201"),
        (("", "2026-03-02", "", "2026-03-01"), "3120"),
        (("", "", ""), "210"),
        (("2026-03-01T12:00:00Z", "2026-03-01T10:00:00Z", "2026-03-01"), "210"),
    ],
)
def test_the_oldest_comes_first(days: tuple[str, ...], order: str) -> None:
    assert "".join(entry.title for entry in read_feed(items(*days), "f.xml", ZONE)) == order


def test_a_feed_without_entries_is_an_empty_list() -> None:
    assert read_feed(rss(""), "f.xml", ZONE) == ()
    assert read_feed(b"<feed xmlns='http://www.w3.org/2005/Atom'/>", "f.xml", ZONE) == ()


@pytest.mark.parametrize("atom", [False, True])
def test_a_feed_has_at_most_ten_thousand_entries(atom: bool) -> None:
    def feed(many: int) -> bytes:
        space = b" xmlns='http://www.w3.org/2005/Atom'"
        return b"<feed" + space + b">" + b"<entry/>" * many + b"</feed>" if atom else rss("<item/>" * many)

    assert len(read_feed(feed(10_000), "feed.xml", ZONE)) == 10_000
    told = "feed.xml: its 10,001 entries are more than the 10,000 that are read; save fewer entries."
    assert refusal(feed(10_001)) == told


def test_rss_in_a_namespace_of_its_own() -> None:
    data = rss("<item><title>A</title></item>").replace(b"<rss", b"<rss xmlns='https://example.org/rss'")
    assert [entry.title for entry in read_feed(data, "f.xml", ZONE)] == ["A"]


def test_blank_lines_before_the_declaration() -> None:
    assert [e.place for e in read_feed(b"\n\r\n" + RSS, "f.xml", ZONE)] == [2, 1, 3]


# Refusing

BOMB = """<?xml version="1.0"?>
<!-- harmless -->
<!DOCTYPE rss [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;">]>
<rss version="2.0"><channel><item><title>&c;</title></item></channel></rss>"""


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le"])
def test_a_doctype_is_refused_in_every_encoding(encoding: str) -> None:
    assert "line 3 holds a DOCTYPE" in refusal(BOMB.encode(encoding))


def test_a_doctype_that_reads_another_file_is_refused() -> None:
    data = b"<!DOCTYPE rss SYSTEM 'file:///etc/hostname'>" + rss("")
    assert "line 1 holds a DOCTYPE" in refusal(data)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "the file is empty"),
        (b" \n ", "the file is empty"),
        (b"id,name\n1,coat\n", "it is broken at line 1, column 1;"),
        (b"<rss>\n <channel></rss>", "it is broken at line 2, column 13"),
        (b"\n<?xml version='1.0'?>\n<rss>", "it is broken at line 3, column 6"),
        (rss("<item><title>a&nbsp;b</title></item>"), "it is broken at line "),
        (b"<?xml version='1.0' encoding='no-such'?><rss/>", "in letters of a sort that is not known"),
        (b"<?xml version='1.0' encoding='big5'?><rss/>", "in letters of a sort that is not known"),
        (b"<rss>\xff</rss>", "it is broken at line 1, column 6"),
        (b"<opml><body/></opml>", "it is no feed but something else, such as a web page ('opml'"),
        (b"<feed><entry/></feed>", "it is no feed but something else, such as a web page ('feed'"),
        (b"<rss>" + b" " * 21 * 1024**2, "are more than the 20 MB"),
    ],
    ids=map(str, itertools.count()),  # the data itself would be a name of 21 million letters
)
def test_refusals(data: bytes, said: str) -> None:
    assert said in refusal(data)


@pytest.mark.parametrize("zone", ["Nowhere/Land", "", "../x", "Europe"])
def test_an_unknown_zone_is_refused(zone: str) -> None:
    with pytest.raises(BadInput, match="no time zone is called"):
        read_feed(RSS, "feed.xml", zone)


@given(st.one_of(st.binary(max_size=200), st.text("<>/?!&;=\"'rsfedin -[]\n", max_size=60).map(str.encode)))
def test_bytes_of_any_kind_give_entries_or_one_sentence(data: bytes) -> None:
    assert looks_like_feed(data) in (True, False)
    for body in (data, rss("<item><title>" + data.decode("latin-1") + "</title></item>")):
        try:
            read_feed(body, "f.xml", ZONE)
        except BadInput as error:
            assert error.where == "f.xml"


@pytest.mark.slow
def test_elements_within_elements_without_end_do_no_harm() -> None:
    code = (
        "from showrunner.storage.feed_text import read_feed\n"
        "deep = '<b>' * 300_000 + 'x' + '</b>' * 300_000\n"
        "feed = f'<rss><channel><item><title>{deep}</title></item></channel></rss>'\n"
        "print(read_feed(feed.encode(), 'f.xml', 'UTC')[0].title)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.stdout, done.returncode) == ("x\n", 0), done.stderr


@pytest.mark.parametrize(
    ("part", "said"), [("&lt;a ", "<a "), ("&lt;!--", "<!--"), ("&amp;", "&"), ("&lt;", "<"), ("&lt;br&gt;", "")]
)
def test_very_long_titles_are_read_whole(part: str, said: str) -> None:
    assert titled(part * 200_000) == (said * 200_000).strip()


# Recognising


@pytest.mark.parametrize(
    "data",
    [
        RSS,
        ATOM,
        BOMB.encode(),
        b"\xef\xbb\xbf" + RSS,
        b"\n\n<!-- a > b --><?xml-stylesheet href='x'?>\n<rss>",
        b"<a:feed xmlns:a='http://www.w3.org/2005/Atom'/>",
        b"<rss><channel>",
    ],
)
def test_feeds_are_recognised(data: bytes) -> None:
    assert looks_like_feed(data)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"id,name\n1,<rss>\n",
        b"<feed/>",
        b"<rssx/>",
        b"<html><rss/></html>",
        b"<!-- <rss/> --><opml/>",
        b'{"rss": 1}',
        b"\x89PNG\r\n<rss>",
        b"\xff\xfe",
    ],
)
def test_other_files_are_not(data: bytes) -> None:
    assert not looks_like_feed(data)
