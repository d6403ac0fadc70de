"""The garden changed by answers: through the keys a person presses at 80 x 24, and what then stands in the file."""

from __future__ import annotations

from pathlib import Path

import pytest
from plots import NOW, SITE, Garden, keys, settle
from textual.pilot import Pilot

from tankdash.journal.entries import Change
from tankdash.site import load
from tankdash.site.rewriting import read_original
from tankdash.site.schema import SHAPE_PARTS
from tankdash.tui.actions import action_named
from tankdash.tui.app import TankdashApp
from tankdash.tui.forms.alter import MEASURES, AlterForm, mentioned
from tankdash.tui.forms.asking import EffectWords
from tankdash.tui.forms.sitepicture import SitePicture
from tankdash.tui.keeper import Keeper
from tankdash.tui.pages.home import HomePage
from tankdash.tui.wants import WANTS
from tankdash.tui.widgets.field import ChoiceField, FieldText, TypedField
from tankdash.tui.widgets.notice import NoticeLine

SIZE = (80, 24)


async def opened(app: TankdashApp, pilot: Pilot[int]) -> AlterForm:
    await settle(pilot)
    await keys(pilot, "a")
    assert isinstance(app.screen, AlterForm)
    return app.screen


async def typed(pilot: Pilot[int], form: AlterForm, name: str, text: str) -> None:
    """Put other words into a field, as somebody does who goes there and types."""
    widget = form.field_named(name)
    assert isinstance(widget, TypedField), name
    widget.focus_field()
    await keys(pilot, "end", *["backspace"] * len(widget.typed))
    for sign in text:
        await pilot.press({" ": "space", ".": "full_stop", "-": "minus"}.get(sign, sign))
    await settle(pilot)


async def chosen(pilot: Pilot[int], form: AlterForm, name: str, value: str) -> None:
    """Go through the answers of a field to one of them."""
    for _ in range(len(answers(form, name)) + 1):
        widget = form.field_named(name)
        if widget is None or widget.value == value:
            return  # the question whether to add one goes away when it is answered
        widget.focus_field()
        await keys(pilot, "right")
    raise AssertionError(f"{name} does not offer {value}")


def words(form: AlterForm) -> str:
    return " ".join(form.query_one(EffectWords).text.split())


def under(form: AlterForm, name: str) -> str:
    widget = form.field_named(name)
    assert widget is not None
    return widget.query_one(".field-explain", FieldText).words


def answers(form: AlterForm, name: str) -> list[str]:
    widget = form.field_named(name)
    assert isinstance(widget, ChoiceField)
    return [choice.value for choice in widget.field.choices]


async def test_a_base_is_put_right_and_nothing_else_of_the_file_changes(garden: Garden) -> None:
    commented = SITE.replace("base: 20 cm\n", "base: 20 cm   # by the water level\n")
    garden.path.write_text(commented, encoding="utf-8")
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        form = await opened(app, pilot)
        assert form.field_named("base").typed == "20 cm"  # type: ignore[union-attr]
        await typed(pilot, form, "base", "22 cm")
        assert "North tote base 20 cm → 22 cm" in words(form)
        assert "sank on a day" in words(form)
        assert garden.path.read_text(encoding="utf-8") == commented
        await keys(pilot, "enter")
        assert isinstance(app.screen, HomePage)
        assert app.shown is not None
        assert app.shown.layout.tanks["north"].base == pytest.approx(0.22)
        assert "garden.yaml.before" in app.screen.query_one(NoticeLine).text.replace("\n", "")
    assert garden.path.read_text(encoding="utf-8") == commented.replace("20 cm   #", "22 cm   #")
    assert garden.path.with_name("garden.yaml.before").read_text(encoding="utf-8") == commented


async def test_a_tank_and_its_link_are_added_and_drawn_before_enter(garden: Garden) -> None:
    with garden.desk() as desk:
        before = desk.levels(NOW).as_json()
        count = len(desk.entries())
    app = garden.app()
    async with app.run_test(size=(120, 36)) as pilot:
        form = await opened(app, pilot)
        await chosen(pilot, form, "item", "+")
        await chosen(pilot, form, "more", "yes")
        await typed(pilot, form, "label", "Shade tote")
        await typed(pilot, form, "base", "19 cm")
        assert "Shade" in form.query_one(SitePicture).text
        await chosen(pilot, form, "section", "links")
        await chosen(pilot, form, "item", "+")
        await chosen(pilot, form, "more", "yes")
        assert answers(form, "join.0")[-1] == "tank-4"
        assert [form.garden.value(form.item, key) for key in ("join.0", "join.1")] == ["south", "tank-4"]
        await keys(pilot, "enter")
        assert isinstance(app.screen, HomePage)
    site = load(garden.path)
    added = site.tanks["tank-4"]
    assert (added.label, added.since) == ("Shade tote", NOW.date())
    assert site.links["link-3"].thing.joins == ("south", "tank-4")
    assert garden.path.read_text(encoding="utf-8").startswith(SITE.split("links:")[0].rstrip("\n"))
    with garden.desk() as desk:
        assert len(desk.entries()) == count
        now = desk.levels(NOW).as_json()
    assert {key: now["tanks"][key]["high_l"] for key in before["tanks"]} == pytest.approx(
        {key: before["tanks"][key]["high_l"] for key in before["tanks"]}, abs=300.0
    )


async def test_a_tank_the_journal_knows_is_not_rubbed_out_but_ends_today(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        form = await opened(app, pilot)
        assert answers(form, "stands") == ["stands", "until"]
        await chosen(pilot, form, "stands", "until")
        assert "North tote goes today" in words(form)
        assert "North" not in form.query_one(SitePicture).text
        await keys(pilot, "enter")
        assert isinstance(app.screen, HomePage)
    text = garden.path.read_text(encoding="utf-8")
    assert text == SITE.replace("    overflow: 95 cm\n", "    overflow: 95 cm\n    until: 2026-05-06\n")
    with garden.desk() as desk:
        assert any("north" in entry.words for entry in desk.entries())
        assert desk.levels(NOW).tanks["north"].volume_l is not None


async def test_what_no_entry_names_can_go_out_of_the_file(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        form = await opened(app, pilot)
        await chosen(pilot, form, "section", "links")
        await chosen(pilot, form, "item", "middle-south")
        await chosen(pilot, form, "stands", "never")
        assert "middle-south is taken out" in words(form)
        await keys(pilot, "enter")
    line = "  middle-south: {join: [middle, south], ports: 8 cm, bore: 50 mm, run: 60 cm}\n"
    assert garden.path.read_text(encoding="utf-8") == SITE.replace(line, "")


async def test_a_tank_that_others_need_cannot_go_out_and_each_problem_says_so(bare_garden: Garden) -> None:
    app = bare_garden.app()
    async with app.run_test(size=SIZE) as pilot:
        form = await opened(app, pilot)
        await chosen(pilot, form, "stands", "never")
        assert "there is no tank called `north`" in words(form)
        await keys(pilot, "enter")
        assert app.screen is form
        await chosen(pilot, form, "section", "roofs")
        fills = form.field_named("fills")
        assert isinstance(fills, ChoiceField) and fills.is_wrong
    assert bare_garden.path.read_text(encoding="utf-8") == SITE


async def test_what_does_not_fit_is_said_under_its_field_and_not_written(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        form = await opened(app, pilot)
        await typed(pilot, form, "overflow", "2 m")
        assert "above the brim" in under(form, "overflow")
        field = form.field_named("label")
        assert field is not None
        field.focus_field()
        await keys(pilot, "enter")
        assert app.screen is form
        wrong = form.field_named("overflow")
        assert wrong is not None and wrong.has_focus_within and wrong.typed == "2 m"
        await typed(pilot, form, "overflow", "90 cm")
        assert "above the brim" not in under(form, "overflow")
        await keys(pilot, "enter")
        assert isinstance(app.screen, HomePage)
    assert garden.path.read_text(encoding="utf-8") == SITE.replace("overflow: 95 cm", "overflow: 90 cm")


async def test_a_file_changed_meanwhile_is_left_and_what_was_typed_stays(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        form = await opened(app, pilot)
        await typed(pilot, form, "base", "22 cm")
        theirs = SITE + "# theirs\n"
        garden.path.write_text(theirs, encoding="utf-8")
        await keys(pilot, "enter")
        assert app.screen is form
        assert "somebody else" in words(form)
        assert form.field_named("base").typed == "22 cm"  # type: ignore[union-attr]
        await keys(pilot, "escape")
        assert app.screen is form and "once more" in words(form)
        await keys(pilot, "escape")
        assert isinstance(app.screen, HomePage)
    assert garden.path.read_text(encoding="utf-8") == theirs
    assert not garden.path.with_name("garden.yaml.before").exists()


async def test_another_kind_brings_its_measures_and_going_back_brings_the_old_ones(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        form = await opened(app, pilot)
        await chosen(pilot, form, "shape.kind", "barrel")
        assert form.field_named("shape.holds") is None
        assert form.field_named("shape.diameter").typed == "57 cm"  # type: ignore[union-attr]
        assert form.field_named("shape.kind").has_focus  # type: ignore[union-attr]
        await chosen(pilot, form, "shape.kind", "")
        assert form.field_named("shape.holds").typed == "1000 L"  # type: ignore[union-attr]
        await chosen(pilot, form, "shape.kind", "barrel")
        await typed(pilot, form, "shape.height", "90 cm")
        await typed(pilot, form, "overflow", "80 cm")
        await keys(pilot, "enter")
        assert isinstance(app.screen, HomePage)
    text = garden.path.read_text(encoding="utf-8")
    assert "    shape: {kind: upright, diameter: 57 cm, height: 90 cm}\n    overflow: 80 cm\n" in text
    assert text.count("kind: straight") == 2


async def test_a_base_the_journal_has_set_since_is_said_to_stay(garden: Garden) -> None:
    with garden.desk() as desk:
        desk.record(Change("north", "base", 0.21), garden.now, "set north base 21 cm", "", garden.now)
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        form = await opened(app, pilot)
        await typed(pilot, form, "base", "25 cm")
        assert "The journal has set the base of North tote to 21 cm since" in words(form)


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
async def test_odd_writing_is_kept_with_its_line_ends(garden: Garden, newline: str) -> None:
    odd = SITE.replace(
        "  north:\n    label: North tote", "  north:   # mine\n    label: 'North tote'   # old"
    )
    odd = odd.replace(
        "  tap: {tank: south, at: 10 cm}", "  tap: { tank: south,\n         at:  10 cm }"
    ).replace("\n", newline)
    garden.path.write_bytes(odd.encode())
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        form = await opened(app, pilot)
        await typed(pilot, form, "label", "Nora")
        await chosen(pilot, form, "section", "outlets")
        await typed(pilot, form, "at", "12 cm")
        await keys(pilot, "enter")
        assert isinstance(app.screen, HomePage)
    assert (
        garden.path.read_bytes()
        == odd.replace("'North tote'", "'Nora'").replace("at:  10 cm", "at:  12 cm").encode()
    )


async def test_a_value_an_anchor_shares_is_refused_with_a_sentence(garden: Garden) -> None:
    shared = SITE.replace("base: 20 cm", "base: &low 20 cm").replace("base: 17 cm", "base: *low")
    garden.path.write_text(shared, encoding="utf-8")
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        form = await opened(app, pilot)
        await typed(pilot, form, "base", "22 cm")
        assert "by hand" in words(form)
        await keys(pilot, "enter")
        assert app.screen is form
    assert garden.path.read_text(encoding="utf-8") == shared


async def test_nothing_changed_writes_nothing_and_a_broken_file_is_said(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        await opened(app, pilot)
        await keys(pilot, "enter")
        assert isinstance(app.screen, HomePage)
        assert "Nothing was changed" in app.screen.query_one(NoticeLine).text.replace("\n", " ")
        garden.path.write_text("site: [", encoding="utf-8")
        await keys(pilot, "a")
        assert isinstance(app.screen, HomePage)
        assert "problem" in app.screen.query_one(NoticeLine).text
    assert not garden.path.with_name("garden.yaml.before").exists()


@pytest.mark.parametrize("size", [(80, 24), (58, 20)])
async def test_every_field_can_be_reached_and_seen(garden: Garden, size: tuple[int, int]) -> None:
    app = garden.app()
    async with app.run_test(size=size) as pilot:
        form = await opened(app, pilot)
        for section in ("tanks", "links", "outlets", "roofs", "site"):
            await chosen(pilot, form, "section", section)
            for widget in form.field_widgets:
                assert widget is form.field_focused
                shown = form.query_one(".form-fields").region.intersection(widget.region)
                assert shown.height >= 2, (section, widget.field.name)
                await keys(pilot, "tab")


@pytest.mark.parametrize("units", ["metric", "us", "imperial"])
def test_every_question_has_help_and_its_examples_fit(tmp_path: Path, units: str) -> None:
    path = tmp_path / "garden.yaml"
    path.write_text(SITE.replace("units: metric", f"units: {units}"), encoding="utf-8")
    keeper = Keeper(path, None, lambda: NOW)
    form = AlterForm(read_original(path), keeper.shown())
    met = set()
    for section in ("tanks", "links", "outlets", "roofs", "site"):
        form.item = (section, form.garden.ids(section)[0] if section != "site" else "")
        for field in form.asked():
            want = WANTS["garden"].get(field.name) or WANTS["garden"]["measure"]
            met.add(want.label)
            assert field.says == want.says and len(want.says) > 15, field.name
            assert field.choices or field.examples, field.name
            for example in () if field.name.startswith("shape.") else field.examples:
                had = form.garden.value(form.item, field.name)
                form.garden.put(form.item, field.name, example)
                outcome = form.outcome_of(form.garden.changes())
                form.garden.put(form.item, field.name, had)
                assert not outcome.problems, (field.name, example, outcome.problems)
    assert met == {want.label for name, want in WANTS["garden"].items() if name != "more"}


def test_what_the_journal_names_is_known(garden: Garden) -> None:
    with garden.desk() as desk:
        desk.record(Change("middle-south", "closed"), garden.now, "set", "", garden.now)
        assert mentioned(desk.entries()) == {"north", "middle-south"}


def test_the_key_is_in_the_registry() -> None:
    assert action_named("garden").keys == "a"


def test_every_measure_of_a_shape_has_a_name_in_the_form() -> None:
    measures = {name for part in SHAPE_PARTS.values() for name in part.model_fields}
    assert set(MEASURES) == measures - {"kind", "rows"}


async def test_a_cascade_and_how_the_stick_is_read_are_set_without_an_editor(garden: Garden) -> None:
    app = garden.app()
    async with app.run_test(size=SIZE) as pilot:
        form = await opened(app, pilot)
        assert "north" not in answers(form, "overflow_to"), "no tank spills into itself"
        await chosen(pilot, form, "overflow_to", "south")
        await chosen(pilot, form, "dip.from", "brim")
        await keys(pilot, "enter")
        assert isinstance(app.screen, HomePage)
    site = load(garden.path)
    assert site.tanks["north"].thing.overflow_to == "south"
    assert site.tanks["north"].dip.measured_from == "brim"
    async with garden.app().run_test(size=SIZE) as pilot:
        form = await opened(pilot.app, pilot)  # type: ignore[arg-type]
        await chosen(pilot, form, "overflow_to", "")
        await chosen(pilot, form, "dip.from", "floor")
        await keys(pilot, "enter")
    site = load(garden.path)
    assert site.tanks["north"].thing.overflow_to is None
    assert site.tanks["north"].dip.measured_from == "floor"
