"""Which options an aircraft has, and which entries therefore apply to it.

Options come in groups, one member per aircraft; what is not said is taken at the group's default. An
entry's ``fitted`` lists options: those of one group are alternatives, and every group listed must match.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from faulttree.book.items import Item, Written
from faulttree.book.model import Option
from faulttree.book.nearest import did_you_mean, listed
from faulttree.book.positions import Position, Problem

ASKED = Position("fitted")
"""Stands for what the caller asked for, which is in no file."""


@dataclass(frozen=True, slots=True)
class Fitting:
    """The option that holds in each group, and which of them were taken by default."""

    chosen: Mapping[str, str]
    assumed: tuple[str, ...]
    groups: Mapping[str, str]

    def allows(self, fitted: Iterable[str]) -> bool:
        """Whether an entry with this ``fitted`` applies."""
        wanted: dict[str, list[str]] = {}
        for option in fitted:
            if option in self.groups:
                wanted.setdefault(self.groups[option], []).append(option)
        return all(self.chosen[group] in options for group, options in wanted.items())


def choose(written: Written, fitted: Sequence[str]) -> tuple[Fitting, list[Problem]]:
    """The options that hold when ``fitted`` (``option`` or ``group=option``) is said of an aircraft."""
    groups = {choice: group.id for group in written.options.values() for choice in group.form.choices}
    said: dict[str, str] = {}
    problems: list[Problem] = []
    for word in fitted:
        group, _, option = word.rpartition("=")
        if option not in groups or (group and groups[option] != group):
            if not {option, group} & written.defines:
                problems.append(_unknown(written, word, group, option, groups))
        elif said.setdefault(groups[option], option) != option:
            what = f"both `{said[groups[option]]}` and `{option}` are of the group `{groups[option]}`"
            problems.append(Problem(ASKED, what, "give one of them", "fitted"))
    chosen = {group.id: said.get(group.id, group.form.default) for group in written.options.values()}
    assumed = tuple(f"{group}={option}" for group, option in chosen.items() if group not in said)
    return Fitting(chosen, assumed, groups), problems


def _unknown(written: Written, word: str, group: str, option: str, groups: Mapping[str, str]) -> Problem:
    if group in written.options:
        choices = list(written.options[group].form.choices)
        right = did_you_mean(option, choices, f"write one of {', '.join(choices)}")
        return Problem(ASKED, f"`{option}` is no option of `{group}`", right, "fitted")
    right = did_you_mean(option, groups, f"known options: {listed(groups)}")
    return Problem(ASKED, f"there is no option `{word}`", right, "fitted")


def options(written: Written) -> dict[str, Option]:
    """Every option of every group, by id."""
    return {
        choice: Option(choice, group.id, name, choice == group.form.default)
        for group in written.options.values()
        for choice, name in group.form.choices.items()
    }


def one_group_each(written: Written) -> list[Problem]:
    """An option belongs to one group, or its name alone would not say which is meant."""
    problems = []
    seen: dict[str, Item[Any]] = {}
    for group in written.options.values():
        for choice in group.form.choices:
            other = seen.setdefault(choice, group)
            if other is not group:
                what = f"`{choice}` is also an option of `{other.id}`, at {other.spots.key('choices', choice)}"
                where = group.spots.key("choices", choice)
                problems.append(Problem(where, what, "give one of them another id", "duplicate-id"))
    return problems


def default_and_each_other(written: Written, groups: Collection[str] | None = None) -> list[tuple[str, ...]]:
    """The fittings at which a book is checked: all defaults, then each option with the others at their default.

    With ``groups`` only the options of these.
    """
    others = [
        (f"{group.id}={choice}",)
        for group in written.options.values()
        if groups is None or group.id in groups
        for choice in group.form.choices
        if choice != group.form.default
    ]
    return [(), *others]
