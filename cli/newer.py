"""A profile of the aircraft that is new to a case: made or changed since the case last had one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from faulttree.book.model import Book
from faulttree.case import CaseEntry, standing_entries
from faulttree.store.aircraft import Profile


def news(profile: Profile | None, opened: Mapping[str, Any], entries: Sequence[CaseEntry]) -> dict[str, Any]:
    """What a case would take over from a profile: equipment as GROUP=OPTION, voltage, limits, and whose it is.

    Empty where the profile says nothing that the case does not go by already, is of another kind of gear, or was seen
    and left before.
    """
    if profile is None or profile.family != opened["family"] or any(entry.kind == "closed" for entry in entries):
        return {}
    if profile.version <= (opened.get("aircraft") or {"version": 0})["version"]:
        return {}
    was = dict(_named(option) for option in opened["fitted"])
    fitted, voltage = was | dict(profile.fitted), profile.voltage or opened.get("voltage", "")
    known, limits = _limits(opened, entries), {name: dict(limit) for name, limit in profile.limits.items()}
    same = limits == {name: known.get(name) for name in limits}
    if same and fitted == was and voltage == opened.get("voltage", ""):
        return {}
    assumed = [option for option in opened.get("assumed", []) if _named(option)[0] not in profile.fitted]
    whose = {"name": profile.name, "version": profile.version}
    told = [f"{group}={option}" for group, option in fitted.items()]
    return {"fitted": told, "assumed": assumed, "voltage": voltage, "limits": limits, "aircraft": whose}


def left(news: Mapping[str, Any]) -> dict[str, Any]:
    """What the log says of a profile that was seen and not taken, so that it is not asked about again."""
    return {"aircraft": news["aircraft"]}


def differences(news: Mapping[str, Any], opened: Mapping[str, Any], book: Book) -> list[str]:
    """What would be otherwise with it, a line each, in words."""
    was, names = dict(_named(option) for option in opened["fitted"]), {o.id: o.name for o in book.options.values()}
    lines = [
        f"  {group.replace('-', ' ')}: {names.get(option, option)}; so far: {names.get(was[group], was[group])}"
        for group, option in map(_named, news["fitted"]) if group in was and was[group] != option
    ]  # fmt: skip
    if news["voltage"] != opened.get("voltage", ""):
        lines.append(f"  voltage: {news['voltage']}; so far: {opened.get('voltage') or 'not said'}")
    for name, limit in news["limits"].items():
        if limit != opened.get("limits", {}).get(name):
            lines.append(f"  limit {name}: {limit['value']:g} {limit['unit']}, from {limit['reference']}")
    return lines


def _named(option: str) -> tuple[str, str]:
    group, _, name = option.partition("=")
    return group, name


def _limits(opened: Mapping[str, Any], entries: Sequence[CaseEntry]) -> dict[str, dict[str, Any]]:
    limits = {name: dict(limit) for name, limit in opened.get("limits", {}).items()}
    for entry in standing_entries(entries):
        if entry.kind == "limit":
            limits[entry.data["limit"]] = {key: entry.data[key] for key in ("value", "unit", "reference")}
    return limits
