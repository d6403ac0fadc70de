"""A site file changed in place: what is not meant stays byte for byte, whatever way it is written in."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankdash.site import SiteError, load, load_text
from tankdash.site.document import parse_document
from tankdash.site.editing import Change, EditError, Put, Take, edited
from tankdash.site.rewriting import BEFORE, RewriteError, read_original, rewrite
from tankdash.site.starter import Answers, demo_text, starter

ODD = """\
# Our garden, by hand.
site:   'The old orchard'    # as on the gate
timezone: Europe/Lisbon
units: metric
datum: "step: the lower one"

tanks:
     one:        # the first we bought
          # bought used
          base:    20 cm      # settled twice
          shape:
               kind:   straight   # a tote
               holds: 1000 L
               at: 100 cm
          brim: 105 cm
          # overflow: 95 cm      # not yet

     two: {base: &low 17 cm, shape: &tote {kind: straight, holds: 1000 L,
               at: 100 cm},   # like the first
           brim: 105 cm}
     three: {base: *low, shape: *tote}   # as two
links:
     a:
          join:
          - one
          - two
          ports: [8 cm,  9 cm]
outlets:
     tap:   {tank: two, at: 10 cm}
# the end
"""
"""Five spaces a level, quotes of both kinds, anchors, lists of both kinds, comments everywhere."""


def changed_lines(before: str, after: str) -> tuple[list[str], list[str]]:
    """Return the lines that only the one and only the other has, in their order."""
    one, other = before.splitlines(keepends=True), after.splitlines(keepends=True)
    return [line for line in one if line not in other], [line for line in other if line not in one]


@pytest.mark.parametrize(
    ("change", "gone", "come"),
    [
        (
            Put(("tanks", "one", "base"), "22 cm"),
            ["          base:    20 cm      # settled twice\n"],
            ["          base:    22 cm      # settled twice\n"],
        ),
        (
            Put(("site",), "Bob's orchard"),
            ["site:   'The old orchard'    # as on the gate\n"],
            ["site:   'Bob''s orchard'    # as on the gate\n"],
        ),
        (
            Put(("datum",), 'the "low" step'),
            ['datum: "step: the lower one"\n'],
            ['datum: "the \\"low\\" step"\n'],
        ),
        (
            Put(("tanks", "one", "shape", "holds"), "900 L"),
            ["               holds: 1000 L\n"],
            ["               holds: 900 L\n"],
        ),
        (
            Put(("tanks", "three", "base"), "30 cm"),
            ["     three: {base: *low, shape: *tote}   # as two\n"],
            ["     three: {base: 30 cm, shape: *tote}   # as two\n"],
        ),
        (Put(("tanks", "one", "overflow"), "95 cm"), [], ["          overflow: 95 cm\n"]),
        (
            Put(("links", "a", "join", 1), "three"),
            ["          - two\n"],
            ["          - three\n"],
        ),
        (
            Put(("links", "a", "ports"), "8 cm"),
            ["          ports: [8 cm,  9 cm]\n"],
            ["          ports: 8 cm\n"],
        ),
        (
            Put(("outlets", "tap", "kind"), "pump"),
            ["     tap:   {tank: two, at: 10 cm}\n"],
            ["     tap:   {tank: two, at: 10 cm, kind: pump}\n"],
        ),
        (Take(("tanks", "one", "brim")), ["          brim: 105 cm\n"], []),
        (
            Put(
                ("tanks", "four"),
                {"base": "0", "shape": {"kind": "upright", "diameter": "57 cm", "height": "85 cm"}},
            ),
            [],
            [
                "     four:\n",
                "          base: 0\n",
                "          shape: {kind: upright, diameter: 57 cm, height: 85 cm}\n",
            ],
        ),
        (
            Put(("roofs", "shed"), {"area": "6 x 4 m", "fills": "one"}),
            [],
            ["roofs:\n", "     shed: {area: 6 x 4 m, fills: one}\n"],
        ),
    ],
    ids=lambda part: ".".join(map(str, part.path)) if isinstance(part, Put | Take) else "",
)
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_only_the_lines_meant_change(change: Change, gone: list[str], come: list[str], newline: str) -> None:
    before = ODD.replace("\n", newline)
    after = edited(before, [change])
    assert changed_lines(before, after) == (
        [line.replace("\n", newline) for line in gone],
        [line.replace("\n", newline) for line in come],
    )
    assert after.count("\r") == after.count("\n") * (newline == "\r\n")


def test_a_shape_in_lines_of_its_own_gives_way_to_another_and_its_line_keeps_its_comment() -> None:
    text = ODD.replace("shape:\n", "shape:   # inside\n")
    after = edited(
        text,
        [
            Put(
                ("tanks", "one", "shape"),
                dict.fromkeys(("length", "width", "height"), "1 m") | {"kind": "box"},
            )
        ],
    )
    assert (
        "          shape: {length: 1 m, width: 1 m, height: 1 m, kind: box}   # inside\n          brim"
        in after
    )
    assert "# a tote" not in after and "# bought used" in after


def test_what_hangs_below_a_tank_as_a_comment_stays_with_it_when_another_comes() -> None:
    """The starter file leaves hints as comments under the last key of each tank."""
    text = starter(
        Answers(kinds=("tote", "tote"), bases=("20 cm", "20 cm"), link_height="8 cm", tap_height="10 cm")
    )
    after = edited(text, [Put(("tanks", "more"), {"base": "0", "shape": {"kind": "box"}})])
    hint = "    # overflow: 95 cm  # lowest inside point of its overflow pipe, if it has one\n"
    assert after.index("  more:\n") > after.rindex(hint)
    assert edited(after, [Take(("tanks", "more"))]) == text


def test_an_item_taken_out_takes_its_comments_and_nothing_else() -> None:
    after = edited(ODD, [Take(("tanks", "one")), Take(("links", "a"))])
    assert "bought" not in after and "not yet" not in after
    assert after.startswith("# Our garden, by hand.\n") and after.endswith("# the end\n")
    assert parse_document(after, "x").root["links"] is None
    whole = edited(after, [Put(("links", "b"), {"join": ["two", "three"], "ports": "8 cm"})])
    assert "     b: {join: [two, three], ports: 8 cm}" in whole or "join: [two, three]" in whole


@pytest.mark.parametrize(
    "change",
    [
        Put(("tanks", "two", "base"), "18 cm"),
        Put(("tanks", "two", "shape", "holds"), "900 L"),
        Put(("tanks", "three", "shape", "holds"), "900 L"),
        Take(("tanks", "two")),
    ],
)
def test_what_an_anchor_shares_is_refused_with_a_sentence(change: Change) -> None:
    with pytest.raises(EditError, match="by hand"):
        edited(ODD, [change])


def test_an_alias_can_be_replaced_as_a_whole() -> None:
    shape = {"kind": "upright", "diameter": "57 cm", "height": "85 cm"}
    after = edited(ODD, [Put(("tanks", "three", "shape"), shape)])
    assert "three: {base: *low, shape: {kind: upright, diameter: 57 cm, height: 85 cm}}   # as two" in after


def test_a_file_in_brackets_is_changed_in_its_brackets() -> None:
    text = '{"site": "x", "tanks": {"a": {"base": "20 cm"}, "b": {"base": "1 cm"}}}'
    after = edited(
        text,
        [Put(("tanks", "a", "base"), "21 cm"), Put(("tanks", "c"), {"base": "3 cm"}), Take(("tanks", "b"))],
    )
    assert after == '{"site": "x", "tanks": {"a": {"base": "21 cm"}, c: {base: 3 cm}}}'


VALUES = st.text(
    alphabet=st.characters(codec="utf-8", exclude_categories=("Cs", "Cc", "Zl", "Zp")),
    min_size=1,
    max_size=12,
)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_whatever_is_typed_comes_back_and_all_else_says_what_it_said(data: st.DataObject) -> None:
    """In = out: the values of the changed text are those of the old one with the change put in."""
    text = data.draw(st.sampled_from([ODD, demo_text(), ODD.replace("\n", "\r\n")]))
    root = parse_document(text, "x").root
    section = data.draw(st.sampled_from(["tanks", "outlets"]))
    key = data.draw(st.sampled_from(list(root[section])))
    name = data.draw(st.sampled_from(["label", "base", "at", "until"]))
    typed = data.draw(VALUES)
    try:
        after = edited(text, [Put((section, key, name), typed)])
    except EditError:
        assert (key, name) == ("two", "base"), "only what the anchor shares is refused"
        return
    found = parse_document(after, "x").root
    assert found[section][key][name] == typed or not typed.strip()
    assert {one: value for one, value in found[section][key].items() if one != name} == {
        one: value for one, value in root[section][key].items() if one != name
    }
    assert {one: found[one] for one in found if one != section} == {
        one: root[one] for one in root if one != section
    }
    gone, come = changed_lines(text, after)
    assert len(gone) <= 1 and len(come) <= 1


# The file.


def test_the_file_is_replaced_with_its_rights_kept_and_the_old_one_aside(tmp_path: Path) -> None:
    path = tmp_path / "garden.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + ODD.replace("\n", "\r\n").encode())
    path.chmod(0o640)
    original = read_original(path)
    kept = rewrite(original, edited(original.text, [Put(("tanks", "one", "base"), "22 cm")]))
    assert kept == path.with_name("garden.yaml" + BEFORE)
    assert kept is not None and kept.read_bytes() == original.raw
    assert path.read_bytes() == original.raw.replace(b"20 cm", b"22 cm")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert load(path).tanks["one"].thing.base == pytest.approx(0.22)
    assert sorted(one.name for one in tmp_path.iterdir()) == ["garden.yaml", "garden.yaml.before"]


def test_a_link_to_the_file_stays_a_link(tmp_path: Path) -> None:
    real, link = tmp_path / "real.yaml", tmp_path / "garden.yaml"
    real.write_text(ODD)
    link.symlink_to(real)
    original = read_original(link)
    rewrite(original, original.text.replace("20 cm", "21 cm"))
    assert link.is_symlink() and "21 cm" in real.read_text()


def test_nothing_is_written_where_nothing_changed(tmp_path: Path) -> None:
    path = tmp_path / "garden.yaml"
    path.write_text(ODD)
    assert rewrite(read_original(path), ODD) is None
    assert [one.name for one in tmp_path.iterdir()] == ["garden.yaml"]


def test_a_file_that_somebody_changed_meanwhile_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "garden.yaml"
    path.write_text(ODD)
    original = read_original(path)
    path.write_text(ODD + "# mine\n")
    with pytest.raises(RewriteError, match="somebody else"):
        rewrite(original, edited(original.text, [Put(("tanks", "one", "base"), "22 cm")]))
    assert path.read_text() == ODD + "# mine\n"
    assert [one.name for one in tmp_path.iterdir()] == ["garden.yaml"]


def test_a_change_that_check_would_refuse_is_not_written(tmp_path: Path) -> None:
    path = tmp_path / "garden.yaml"
    path.write_text(ODD)
    original = read_original(path)
    with pytest.raises(SiteError, match="overflow"):
        rewrite(original, edited(original.text, [Put(("tanks", "one", "overflow"), "2 m")]))
    assert path.read_text() == ODD


def test_a_full_disk_is_said_and_the_file_is_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "garden.yaml"
    path.write_text(ODD)
    original = read_original(path)

    def full(handle: int) -> None:
        raise OSError(28, os.strerror(28))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(RewriteError, match="cannot be replaced"):
        rewrite(original, edited(original.text, [Put(("tanks", "one", "base"), "22 cm")]))
    assert path.read_text() == ODD
    assert not [one for one in tmp_path.iterdir() if one.name.startswith(".")]


def test_the_odd_file_is_a_site() -> None:
    assert set(load_text(ODD).tanks) == {"one", "two", "three"}
