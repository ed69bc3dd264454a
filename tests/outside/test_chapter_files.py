"""Chapters as other programs read them: FFmpeg's own reader of its metadata files, and a parser of WebVTT.

Both take faulty files without a word (a missing END loses the titles, a row out of order is taken as it is, a comma
for the decimal point loses the cue), so what they read is held against what was written, and the exact text is in
`tests/planning/test_chapters.py`. FFmpeg metadata.texi; W3C WebVTT.
"""

from __future__ import annotations

import itertools
import json
import shutil
import subprocess

import pytest
import webvtt as parser

from showrunner.domain.house import HouseRules
from showrunner.domain.package import Chapter
from showrunner.planning.chapters import faults_of, ffmetadata, webvtt

TITLES = (
    "Opening",
    "a=b; #1 \\ c",
    "“Rook” --> Pippin & <co>",
    "[CHAPTER]",
    ";FFMETADATA1",
    "two\nlines",
    "ends with a backslash \\",
    "日本語 😀",
)
CHAPTERS = tuple(Chapter(at * 61, title) for at, title in enumerate(TITLES))
END = 600

needs_ffmpeg = pytest.mark.skipif(
    not (shutil.which("ffmpeg") and shutil.which("ffprobe")), reason="ffmpeg and ffprobe are not installed"
)


def read_back(text: bytes, folder):
    """The chapters and the title that ffprobe reads of a sound file into which ffmpeg put a metadata file."""
    meta, out = folder / "chapters.ffmetadata", folder / "film.mka"
    meta.write_bytes(text)
    sound = ["-f", "lavfi", "-i", f"anullsrc=r=8000:cl=mono:d={END}"]
    command = ["ffmpeg", "-v", "error", *sound, "-i", str(meta), "-map_metadata", "1", "-map_chapters", "1"]
    subprocess.run([*command, "-c:a", "libvorbis", "-y", str(out)], check=True, capture_output=True)
    probe = ["ffprobe", "-v", "error", "-show_chapters", "-show_format", "-of", "json", str(out)]
    found = json.loads(subprocess.run(probe, check=True, capture_output=True).stdout)
    rows = [(float(c["start_time"]), float(c["end_time"]), c["tags"]["title"]) for c in found["chapters"]]
    return rows, found["format"]["tags"].get("title")


@pytest.mark.slow
@needs_ffmpeg
def test_ffmpeg_reads_every_chapter_as_it_was_meant(tmp_path):
    rows, title = read_back(ffmetadata(CHAPTERS, END, "The apron; part=1 #2").encode(), tmp_path)
    ends = [*(chapter.seconds for chapter in CHAPTERS[1:]), END]
    titles = [f"{c.title} " if c.title.endswith("\\") else c.title for c in CHAPTERS]
    assert rows == [(c.seconds, end, title) for c, end, title in zip(CHAPTERS, ends, titles, strict=True)]
    assert title == "The apron; part=1 #2"


@pytest.mark.slow
@needs_ffmpeg
def test_ffmpeg_takes_a_row_out_of_order_which_is_refused_here(tmp_path):
    mixed = (Chapter(0, "one"), Chapter(200, "three"), Chapter(100, "two"), Chapter(700, "past the end"))
    text = ";FFMETADATA1\n" + "".join(
        f"[CHAPTER]\nTIMEBASE=1/1000\nSTART={c.seconds * 1000}\nEND={c.seconds * 1000 + 50000}\ntitle={c.title}\n"
        for c in mixed
    )
    rows, _ = read_back(text.encode(), tmp_path)
    assert [title for *_, title in rows] != ["one", "two", "three"]  # it exits with 0, and not a word is said
    assert len(faults_of(mixed, END, HouseRules())) == 2


def test_a_parser_of_webvtt_reads_every_chapter(tmp_path):
    path = tmp_path / "chapters.vtt"
    path.write_text(webvtt(CHAPTERS, END), encoding="utf-8")
    cues = parser.read(str(path)).captions
    assert len(cues) == len(CHAPTERS)
    starts = [cue.start for cue in cues]
    assert starts[:3] == ["00:00:00.000", "00:01:01.000", "00:02:02.000"]
    assert cues[-1].end == "00:10:00.000"
    assert all(one.end == two.start for one, two in itertools.pairwise(cues))
    text = path.read_text(encoding="utf-8")
    assert text.count("-->") == len(CHAPTERS)
