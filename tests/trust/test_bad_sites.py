"""Site files spoilt with knowledge of what they are: problems with their lines, or a garden every command can bear.

The other attacks on site files look at the reading alone; here what is read goes on to every command that looks.
"""

from __future__ import annotations

import copy
import io
import random
import re
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML
from trusting import GARDEN, Count, keeps_its_promises, levels_are_sane, times, type_in

CONFIGS = Path(__file__).parents[2] / "configs"
TEXTS = {path.stem: path.read_text(encoding="utf-8") for path in sorted(CONFIGS.glob("*.yaml"))} | {
    "trusted": GARDEN
}
NOW = ("--now", "2026-06-10T12:00")
LOOKS = (
    ("levels", "--json"),
    ("check", "--json"),
    ("chores", "--json", "--all"),
    ("storm", "--json"),
    ("supply", "--json"),
    ("stick", "north", "--json"),
    ("calendar", "c.ics", "--overwrite"),
    ("check",),
    ("levels",),
    ("rain", "12mm", "--note", "after"),
    ("survey", "--json"),
)
ODD: tuple[Any, ...] = (
    None, True, False, 0, -1, 3.5, 1e+308, "", " ", "0", "-5 cm", "0 mm", "1e-9 mm", "9999 km", "999999 m",
    "50 m", "1 mm", "12 parsecs", "nan m", "inf L", "1 L", "99999999 L", "0.001 L", "north", "site", "nobody",
    "open", "closed", "unknown", "2026-02-30", "0001-01-01", "9999-12-31", "2024-02-29", "1900-01-01",
    "2200-12-31", "29 February", "30 February", "31 December to 1 January", "1 April to 1 April", "by hand",
    "1 second", "9999 years", "0 days", "1 minute", "1000000 weeks", "120 %", "0 %", "-40 C", "999 F", "a\x1bb",
    "\u202eabc", "[x]", "x" * 3000, [], {}, [[]], {"a": 1}, ["north"], ["north", "north"], [1, 2, 3],
    {"kind": "cone"}, {"kind": "lying", "diameter": "1 mm", "length": "9 m"},
    {"kind": "table", "rows": [["0", "0"]]}, {"kind": "upright", "diameter": "9 m", "height": "90 m"},
    "../../x", "桶",
)  # fmt: skip
"""What may stand where something else was meant."""


FACTORS = (0.0, 0.001, 0.1, 0.5, 0.9, 1.1, 2.0, 10.0, 100.0, 1e6)
"""By what a figure may be off."""


def parts(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the way to every part of a document."""
    found = [path] if path else []
    if isinstance(node, dict):
        for key, value in node.items():
            found += parts(value, (*path, key))
    elif isinstance(node, list):
        for place, value in enumerate(node):
            found += parts(value, (*path, place))
    return found


def at_end_of(document: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        document = document[step]
    return document


def spoil(document: Any, dice: random.Random) -> str:
    """Spoil one part of a document in place, and say how."""
    path = dice.choice(parts(document))
    holder, key = at_end_of(document, path[:-1]), path[-1]
    where = ".".join(map(str, path))
    match dice.choices(range(7), (4, 3, 1, 2, 1, 1, 12))[0]:
        case 0:
            holder[key] = copy.deepcopy(dice.choice(ODD))
            return f"{where} = {str(holder[key])[:60]!r}"
        case 1:
            del holder[key]
            return f"{where} is gone"
        case 2:
            other = at_end_of(document, dice.choice(parts(document)))
            holder[key] = copy.deepcopy(other)
            return f"{where} = something from elsewhere"
        case 3 if isinstance(holder[key], str) and re.search(r"\d", holder[key]):
            by = dice.choice(("0", "1", "9", "00", "1e9", ".", "-", "½"))
            holder[key] = re.sub(r"\d+", by, holder[key], count=1)
            return f"{where} = {holder[key]!r}"
        case 6 if isinstance(holder[key], str) and re.search(r"\d", holder[key]):
            holder[key] = re.sub(
                r"\d+(\.\d+)?", lambda m: f"{float(m[0]) * dice.choice(FACTORS):g}", holder[key]
            )
            return f"{where} = {holder[key]!r}"
        case 4 if isinstance(holder, dict):
            value = holder.pop(key)
            name = dice.choice(
                (str(key) + "s", str(key).upper(), "a" * 500, "", "a b", "\x1b[1m", "on", "-", "0")
            )
            holder[name] = value
            return f"{where} is called {name[:20]!r}"
        case _ if isinstance(holder, dict):
            holder[f"{key}-too"] = copy.deepcopy(holder[key])
            return f"{where} twice"
        case _:
            holder.append(copy.deepcopy(holder[key]))
            return f"{where} twice"


def written(document: Any) -> str:
    yaml = YAML(typ="safe", pure=True)
    yaml.allow_unicode = True
    out = io.StringIO()
    yaml.dump(document, out)
    return out.getvalue()


@pytest.mark.parametrize("name", sorted(TEXTS))
def test_a_spoilt_site_file_is_told_line_by_line_or_borne_by_every_command(name: str, folder: Path) -> None:
    dice = random.Random(f"spoil {name}")
    path = folder / "tankdash.yaml"
    good = YAML(typ="safe", pure=True).load(TEXTS[name])
    count = Count(f"spoilt copies of {name}")
    for _ in range(times(18, 4000)):
        document = copy.deepcopy(good)
        how = [spoil(document, dice) for _ in range(dice.choice((1, 1, 1, 2, 3)))]
        path.write_text(written(document), encoding="utf-8", errors="surrogatepass")
        for file in folder.glob("tankdash.journal.db*"):
            file.unlink()
        answer = type_in(*NOW, "check", "--json")
        try:
            keeps_its_promises(answer, problems=None)
        except AssertionError as broken:
            raise AssertionError(f"{how}: {broken}") from broken
        if answer.code == 2:
            count("refused")
            lines = [
                int(line.split(":")[1]) for line in answer.err.splitlines() if re.match(r"\S+:\d+: ", line)
            ]
            assert lines == sorted(lines), (how, answer.err)
            assert len(answer.err.splitlines()) <= 60, (how, answer.err)
            assert all(line.startswith("tankdash.yaml:") for line in answer.err.splitlines()), (
                how,
                answer.err,
            )
            continue
        count("borne")
        tanks = list(answer.json["tanks"])
        if tanks:
            dipped = type_in(*NOW, "dip", tanks[0], "10 cm")
            keeps_its_promises(dipped)
        for words in dice.sample(LOOKS, 4):
            words = tuple(tanks[0] if word == "north" and tanks else word for word in words)
            try:
                answer = type_in(*NOW, *words)
                keeps_its_promises(answer)
                if words == ("levels", "--json"):
                    levels_are_sane(answer.json)
            except AssertionError as broken:
                raise AssertionError(f"{how}: {words}: {broken}") from broken
            count("looks")
    count.say()
    assert count["refused"] > 3
    assert count["borne"] >= 1


@pytest.mark.parametrize("name", sorted(TEXTS))
def test_a_site_file_with_its_bytes_disturbed_is_told_in_sentences(name: str, folder: Path) -> None:
    dice = random.Random(f"bytes {name}")
    path = folder / "tankdash.yaml"
    good = TEXTS[name].encode()
    count = Count(f"disturbed copies of {name}")
    for _ in range(times(16, 4000)):
        spoilt = bytearray(good)
        for _ in range(dice.choice((1, 1, 2, 8))):
            at = dice.randrange(len(spoilt))
            match dice.randint(0, 4):
                case 0:
                    spoilt[at] = dice.randrange(256)
                case 1:
                    del spoilt[at : at + dice.choice((1, 2, 40))]
                case 2:
                    spoilt[at:at] = dice.choice(
                        (
                            b"\t",
                            b"{",
                            b"[",
                            b"&a ",
                            b"*a",
                            b"!!python/x ",
                            b"---\n",
                            b"\x00",
                            b": ",
                            b"\xff",
                            b"- ",
                            b"#",
                            b"'",
                            b'"',
                            b"\r",
                            b"<<: ",
                        )
                    )
                case 3:
                    other = dice.randrange(len(spoilt))
                    spoilt[at:at] = spoilt[other : other + dice.choice((3, 30))]
                case _:
                    spoilt = spoilt[:at] + spoilt[at : at + 60] * 2 + spoilt[at + 60 :]
        path.write_bytes(bytes(spoilt))
        answer = type_in(*NOW, "check")
        keeps_its_promises(answer, problems=None)
        count(("sound", "found", "refused")[answer.code])
    count.say()
    assert count["refused"] > 3


@pytest.mark.parametrize(
    "content",
    [
        b"a: " + b"[" * 20_000,
        b"{a: " * 5_000,
        b"- " * 20_000,
        b"? " * 5_000,
        b"a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nd: [*c, *c]\n",
        b"site: " + b"x" * 2_000_000,
        b"site: '" + b"\n" * 100_000,
        b"\xff\xfes\x00i\x00t\x00e\x00:\x00 \x00x\x00\n\x00",
        b"\xef\xbb\xbfsite: x\n",
        b"\x00" * 10_000,
        b"%YAML 9.9\n---\nsite: x\n",
        b"site: !!python/object/apply:os.system [ls]\n",
        b"tanks: {" + b", ".join(b"t%d: {}" % n for n in range(3000)) + b"}\n",
        b"site: |\n" + b"  \xe2\x80\xa8\n" * 1000,
    ],
)  # fmt: skip
def test_a_site_file_made_to_choke_on_is_told_soon(content: bytes, folder: Path) -> None:
    (folder / "tankdash.yaml").write_bytes(content)
    answer = type_in("check", patience=20.0)
    keeps_its_promises(answer, problems=None)
    assert answer.code == 2
    assert answer.seconds < 20.0
