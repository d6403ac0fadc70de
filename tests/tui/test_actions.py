"""The one registry of actions: keys, ids, help."""

from __future__ import annotations

from tankdash.tui.actions import (
    ACTIONS,
    GROUPS,
    KEY_NAMES,
    action_named,
    by_group,
    footer_actions,
    key_bindings,
)


def test_no_two_actions_share_a_key_or_an_id() -> None:
    keys = [key for action in ACTIONS for key in action.keys.split(",")]
    assert len(keys) == len(set(keys))
    assert len({action.id for action in ACTIONS}) == len(ACTIONS)


def test_every_action_has_a_key_that_needs_no_ctrl_or_alt() -> None:
    for action in ACTIONS:
        for key in action.keys.split(","):
            assert "+" not in key, action.id
            assert len(key) == 1 or key in KEY_NAMES, key


def test_every_binding_has_an_id() -> None:
    assert all(binding.id for binding in key_bindings())
    assert {binding.id for binding in key_bindings()} == {action.id for action in ACTIONS}


def test_the_footer_has_at_most_six_keys_and_ends_with_help() -> None:
    feet = footer_actions()
    assert len(feet) <= 6
    assert feet[-1] is action_named("help")


def test_every_action_stands_under_one_heading_of_help() -> None:
    listed = [action.id for _, actions in by_group() for action in actions]
    assert sorted(listed) == sorted(action.id for action in ACTIONS)
    assert [group for group, _ in by_group()] == list(GROUPS)
