"""Text from files is text: never markup, an escape sequence or a direction, wherever it is shown or put out."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from html.parser import HTMLParser
from itertools import cycle
from pathlib import Path

import pytest
from icalendar import Calendar
from ruamel.yaml import YAML
from trusting import GARDEN, Count, keeps_its_promises, times, type_in

from tankdash.journal.entries import Entry
from tankdash.journal.guard import guarded, unguarded
from tankdash.journal.store import Journal

pytestmark = pytest.mark.usefixtures("quick")
NOW = ("--now", "2026-06-10T12:00")
NASTY = {
    "markup": "[red]x[/red][/][@click=app.quit]y[/]",
    "colour": "\x1b[31mred\x1b[2J]]",
    "title": "\x1b]0;title\x07",
    "a link": "\x1b]8;;https://example.org\x1b\\x\x1b]8;;\x1b\\",
    "the clipboard": "\x1b]52;c;RVZJTA==\x07",
    "one-byte controls": "\x9b31m\x9d52;c;QQ==\x9c\x90q",
    "directions": "\u202eabc\u202c \u2066x\u2069 \u061c\u200f",
    "unseen": "a\u200bb\ufeff\u2060c\u200d\u00ad",
    "wide": "桶🪣桶 水",
    "accents": "e" + "\u0301" * 30,
    "tags": "<script>alert(1)</script>&amp;\"'--><!--",
    "formula": '=HYPERLINK("http://example.org")',
    "lines": "two\nlines\r\u2028three\x85four\ttab\x0bcolumn",
    "private": "a\U000e0041b\U000f0000c\ue000",
    "placeholders": "{0}{self.__class__} %s%n $HOME `id` \\x1b[31m",
}
STEERING = {"colour", "title", "a link", "the clipboard", "one-byte controls", "directions", "private"}
"""Those no label may hold."""
WRITES = (
    ("note", "TEXT"),
    ("rain", "12mm", "--gauge", "TEXT"),
    ("done", "low", "--note", "TEXT"),
    ("pour", "3L", "north", "--what", "TEXT"),
    ("dip", "north", "60cm", "--note", "TEXT"),
    ("use", "9L", "--outlet", "tap", "--note", "TEXT"),
    ("set", "north-middle", "closed", "--note", "TEXT"),
    ("import", "sheet.csv", "--gauge", "TEXT", "--yes"),
    ("import", "sheet.csv", "--history", "--station", "TEXT", "--yes"),
)
LOOKS = (
    ("check",),
    ("check", "--json"),
    ("levels",),
    ("levels", "--json"),
    ("log", "--all"),
    ("log", "--json"),
    ("chores", "--all"),
    ("chores", "--json"),
    ("rainfall",),
    ("rainfall", "--json"),
    ("supply", "--away", "11"),
    ("supply", "--json"),
    ("storm", "--json"),
    ("stick", "north"),
    ("size",),
    ("survey",),
    ("balance", "--json"),
)
ASKED = (
    ("dip", "TEXT", "60cm"),
    ("set", "TEXT", "TEXT"),
    ("done", "TEXT"),
    ("frost", "TEXT"),
    ("import", "TEXT"),
    ("export", "TEXT"),
    ("levels", "--at", "TEXT"),
    ("--site", "TEXT", "check"),
    ("--journal", "TEXT", "note", "x"),
)
PUT_OUT = (
    ("export", "out"),
    ("calendar", "chores.ics"),
    ("chores", "--html", "chores.html"),
    ("stick", "north", "--html", "stick.html"),
)
_SHEET = "date,rain mm\n" + "".join(f"2026-01-{day:02},1\n" for day in range(1, 20))
_LABELLED = ("tanks", "links", "outlets", "roofs", "beds", "chores")


def labelled(texts: list[str]) -> str:
    """Return the garden with these texts as the labels of its parts, in turn; JSON is YAML."""
    garden = YAML(typ="safe", pure=True).load(GARDEN)
    garden["site"] = garden["datum"] = texts[0]
    parts = [(key, part) for group in _LABELLED for key, part in garden[group].items()]
    for (key, part), text in zip(parts, cycle(texts), strict=False):
        part["label"] = f"{text} {key}"
    return json.dumps(garden, default=str, ensure_ascii=False)


def nothing_acts(*words: str) -> int:
    """Type it, and look that nothing in the answer would be acted on; return the exit code."""
    answer = type_in(*NOW, *words)
    keeps_its_promises(answer, problems=None)
    for line in (answer.out + answer.err).splitlines():
        assert line.isprintable(), (words, line)
    return answer.code


def files_are_harmless(folder: Path) -> None:
    """Look through what was put out: text stays text, in a spreadsheet, a browser and a calendar."""
    for file in (folder / "out").iterdir():
        content = file.read_text(encoding="utf-8")
        assert not re.search(r"[\x00-\x09\x0b-\x0c\x0e-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]", content), (
            file
        )
        assert not re.search(r'(^|,|\r\n)"?\s*[=+@|%\t\r]', content), file
    for file in folder.glob("*.html"):
        page = _Tags()
        page.feed(file.read_text(encoding="utf-8"))
        assert page.tags <= {
            "html", "head", "meta", "title", "style", "body", "h1", "h2", "p", "div", "table", "thead", "tbody", "tr",
            "th", "td", "span", "b", "bdi", "col", "colgroup",
        }, (file, page.tags)  # fmt: skip
        assert not any(name.startswith("on") for name in page.attributes), file
    book = Calendar.from_ical((folder / "chores.ics").read_bytes())
    assert all(event.name == "VEVENT" for event in book.subcomponents)
    assert book.subcomponents
    content = (folder / "chores.ics").read_bytes().decode("utf-8")
    assert not re.search(r"[\x00-\x09\x0b-\x0c\x0e-\x1f\x7f-\x9f]", content)


class _Tags(HTMLParser):
    """Which tags and attributes a page has."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}


def with_text(words: tuple[str, ...], text: str) -> tuple[str, ...]:
    return tuple(text if word == "TEXT" else word for word in words)


def test_words_in_the_journal_are_shown_and_never_acted_on(garden: Path) -> None:
    (garden.parent / "sheet.csv").write_text(_SHEET)
    count = Count("texts in the journal")
    for text in NASTY.values():
        for words in times(WRITES[:3], WRITES):
            count("writes" if nothing_acts(*with_text(words, text)) == 0 else "refusals")
        for words in times((), ASKED):
            nothing_acts(*with_text(words, text))
            count("looks")
    everything = "".join(NASTY.values())
    for words in WRITES:
        nothing_acts(*with_text(words, everything))
    for words in (*LOOKS, *times(ASKED, ()), *PUT_OUT):
        nothing_acts(*with_text(words, everything))
        count("looks")
    files_are_harmless(garden.parent)
    # Nothing was lost on the way out and back in.
    assert nothing_acts("import", "out", "--journal", "other.db", "--yes") == 0
    mine, other = (
        {entry.uid: entry for entry in kept(garden, name)} for name in ("tankdash.journal.db", "other.db")
    )
    assert mine == other
    notes = {entry.note for entry in mine.values()}
    assert {text.strip() for text in NASTY.values()} - {NASTY["lines"]} <= notes
    count.say()
    assert count["writes"] >= times(3, 8) * len(NASTY)


def kept(garden: Path, name: str) -> list[Entry]:
    with Journal.open(garden.parent / name) as journal:
        return journal.entries(include_voided=True)


def test_a_label_that_would_steer_a_terminal_is_refused_with_its_line(garden: Path) -> None:
    refused = set()
    for kind, text in NASTY.items():
        garden.write_text(labelled([text]), encoding="utf-8")
        if nothing_acts("check") == 2:
            answer = type_in(*NOW, "check")
            assert all(re.match(r"tankdash\.yaml:1: ", line) for line in answer.err.splitlines()), answer
            assert "control character" in answer.err
            refused.add(kind)
    assert refused == STEERING


def test_any_other_label_is_only_ever_text(garden: Path) -> None:
    garden.write_text(labelled([NASTY[kind] for kind in NASTY if kind not in STEERING]), encoding="utf-8")
    for words in (("dip", "north", "60cm"), ("rain", "12mm")):
        assert nothing_acts(*words) == 0
    for words in (*LOOKS, *PUT_OUT):
        nothing_acts(*words)
    files_are_harmless(garden.parent)


@pytest.mark.parametrize("kind", NASTY)
def test_what_a_spreadsheet_could_take_for_something_else_comes_back_as_it_was(kind: str) -> None:
    for text in (NASTY[kind], f"'{NASTY[kind]}", f" {NASTY[kind]}", f"\\{NASTY[kind]}"):
        assert unguarded(guarded(text)) == text
        assert not guarded(text).lstrip().startswith(("=", "+", "-", "@"))


def test_json_with_escapes_says_the_same(garden: Path) -> None:
    text = "".join(NASTY.values())
    assert type_in(*NOW, "note", text).code == 0
    with Journal.open(garden.with_name("tankdash.journal.db")) as journal:
        (entry,) = journal.entries()
    answer = type_in(*NOW, "log", "--json")
    assert answer.json["entries"][0]["words"] == entry.words
    assert "桶" in answer.out, "what is no danger stays readable"
    assert entry.at == datetime(2026, 6, 10, 11, tzinfo=UTC)
