"""A new entry with all that comes along, and the files of an overlay that say so.

Each draft is put into files of its own: what a lead wrote is read and never written.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import yaml

from faulttree.book.files import CASES
from faulttree.book.legs import with_leg
from faulttree.workshop.authoring.ground import Ground
from faulttree.workshop.proposal import written

Data = Mapping[str, Any]

WIDTH, DIGITS = 78, 6

ON_A_LINE = 56
"""Signs of a list that stands on one line; a longer one has a line for each entry, as in the book."""

HEAD = (
    "# Made by `faulttree knowledge new`, and yours from now on: change it like any\n"
    "# other file, then run `faulttree knowledge check`.\n"
)


@dataclass(frozen=True, slots=True)
class Draft:
    """What is to be written. ``kind`` is ``cause``, ``check`` or ``symptom``, ``about`` the id of that entry.

    ``entries`` are the fields of new entries by section and id; ``places`` what of the book names a new fault from now
    on: symptoms, events, points of chains as ``chain@tap``, outcomes as ``check=outcome``. ``case`` is the id of the
    regression case, ``case_data`` its fields; ``retired`` are cases of the book that the overlay takes out, with the
    reason. ``legs`` are those of the new fault: a result that names one of them stands for the fault of that leg.
    ``waits`` are repairs of the book that may come after the new check, beside those that they wait for.
    """

    family: str
    kind: str
    about: str
    entries: Mapping[str, Mapping[str, Data]]
    places: tuple[str, ...]
    case: str
    case_data: Data
    retired: Mapping[str, str] = field(default_factory=dict)
    legs: tuple[str, ...] = ()
    waits: tuple[str, ...] = ()

    @property
    def fault(self) -> str:
        """The id of the new fault, "" where there is none."""
        return next(iter(self.entries.get("faults", {})), "")


def files_of(draft: Draft, ground: Ground) -> dict[str, str]:
    """The texts by their path within the overlay: the knowledge, then its regression case. Nothing there is replaced.

    Raises BadAnswer where the book has a place that a new file cannot amend.
    """
    entries: dict[str, dict[str, Data]] = {section: dict(found) for section, found in draft.entries.items()}
    amended: list[str] = []
    amending = {"amends": True, "reason": f"{draft.about} is tied in", **ground.signed}
    for (section, name, field_name), places in _by_field(draft, ground).items():
        ground.amendable(section, name, field_name)
        amended += ground.amended_in_target(section, name, field_name)
        before = ground.data(section, name)
        adding = [_added(before[field_name], field_name, place, _fault(draft, place)) for place in places]
        if None not in adding:
            said: Data = {"adds": {field_name: _put_together([one for one in adding if one is not None])}}
        elif section == "events":
            said = _gate_with(before, draft.fault)
        else:
            changed = before[field_name]
            for place in places:
                changed = _with(changed, field_name, place, _fault(draft, place))
            said = {field_name: changed}
        entries.setdefault(section, {})[name] = {**amending, **said}
    for action in draft.waits:
        added = {"adds": {"after_any": list(draft.entries["checks"])}}
        entries.setdefault("actions", {})[action] = {**amending, **added}
    stem = _free_stem(draft.about.replace(".", "-"), ground, amended)
    texts = {f"{draft.family}/{stem}.yaml": HEAD + as_yaml(entries)}
    gone = {name: {"retires": True, "reason": reason} for name, reason in draft.retired.items()}
    texts[f"{draft.family}/{stem}{CASES}"] = as_yaml({"cases": {draft.case: draft.case_data, **gone}})
    return texts


def _by_field(draft: Draft, ground: Ground) -> dict[tuple[str, str, str], list[str]]:
    """The places by section, id and field: what is amended at one go."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for place in draft.places:
        found.setdefault(split(place, ground), []).append(place)
    return found


def _added(before: Any, field_name: str, place: str, fault: str) -> Any:
    """What is to stand below ``adds`` of a field, so that the rest goes with the book; None where that cannot be."""
    if field_name == "any_of":
        return [fault]
    if field_name == "outcomes":
        outcome = place.partition("=")[2]
        more = _added(before[outcome]["when"], "when", place, fault)
        return None if more is None else {outcome: {"when": more}}
    if field_name == "when" and isinstance(before, dict) and list(before) == ["any_of"]:
        return {"any_of": [fault]}
    return None


def _put_together(adding: list[Any]) -> Any:
    """What several places of one field add: results side by side, else the one thing."""
    if all(isinstance(one, dict) for one in adding):
        return {name: more for one in adding for name, more in one.items()}
    return adding[0]


def split(place: str, ground: Ground) -> tuple[str, str, str]:
    """The section, the id and the field of the book that names what is tied to a place."""
    if "=" in place:
        return "checks", place.partition("=")[0], "outcomes"
    if "@" in place:
        return "chains", place.partition("@")[0], "elements"
    if any(one.id == place for one in ground.named("symptoms")):
        return "symptoms", place, "when"
    data = ground.data("events", place)
    return "events", place, next(gate for gate in ("any_of", "all_of", "at_least", "not") if data.get(gate) is not None)


def _fault(draft: Draft, place: str) -> str:
    """The fault that a place is tied to: that of one leg where the result is named after a leg."""
    leg = place.partition("=")[2]
    return with_leg(draft.fault, leg) if leg in draft.legs else draft.fault


def _with(before: Any, field_name: str, place: str, fault: str) -> Any:
    if field_name == "outcomes":
        outcome = place.partition("=")[2]
        changed = {**before[outcome], "when": _either(before[outcome]["when"], fault)}
        return {name: changed if name == outcome else same for name, same in before.items()}
    if field_name == "elements":
        tap = place.partition("@")[2]
        return [{**one, "faults": [*one.get("faults", ()), fault]} if one.get("tap") == tap else one for one in before]
    return _either(before, fault)


def _either(when: Any, fault: str) -> Data:
    """What held before, or the fault."""
    if isinstance(when, dict) and list(when) == ["any_of"]:
        return {"any_of": [*when["any_of"], fault]}
    return {"any_of": [when, fault]}


def _gate_with(event: Data, fault: str) -> Data:
    """An event's own gate, or the fault; fields of the gate that it had and has no longer are left empty."""
    gates = {gate: event[gate] for gate in ("any_of", "all_of", "at_least", "not") if event.get(gate) is not None}
    ((gate, of),) = gates.items()
    if gate == "any_of":
        return {"any_of": [*of, fault]}
    return {gate: None, "any_of": [{gate: of}, fault]}


def _free_stem(stem: str, ground: Ground, amended: list[str]) -> str:
    """A name for the files that is not taken, behind the files that amend the same: of these the last one wins."""
    home = ground.target / ground.family
    last = max(amended, default="")
    if last >= f"{stem}.yaml":
        stem = f"{last.removesuffix('.yaml')}_{stem}"  # `_` comes behind the dot of the other's ending
    number, found = 1, stem
    while (home / f"{found}.yaml").exists() or (home / f"{found}{CASES}").exists():
        number += 1
        found = f"{stem}_{number}"
    return found


class _Dumper(yaml.SafeDumper):
    """Lists set in below their key, no anchors, numbers as the book writes them."""

    def increase_indent(self, flow: bool = False, indentless: bool = False) -> None:
        super().increase_indent(flow, False)

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _number(dumper: Any, value: float) -> Any:
    text = written(value, DIGITS)
    return dumper.represent_scalar(f"tag:yaml.org,2002:{'float' if '.' in text else 'int'}", text)


def _list(dumper: Any, found: list[Any]) -> Any:
    node = dumper.represent_list(found)
    if sum(len(str(one)) + 2 for one in found) > ON_A_LINE:
        node.flow_style = False
    return node


_Dumper.add_representer(float, _number)
_Dumper.add_representer(list, _list)
_Dumper.add_representer(type(None), lambda dumper, value: dumper.represent_scalar("tag:yaml.org,2002:null", ""))


def as_yaml(data: Data) -> str:
    """Plain data as YAML in the book's layout: sections apart, short lists and entries on a line."""
    how: dict[str, Any] = {"sort_keys": False, "allow_unicode": True, "width": WIDTH, "default_flow_style": None}
    return "\n".join(yaml.dump({key: value}, Dumper=_Dumper, **how) for key, value in data.items())
