"""`faulttree rank`: causes and next steps for what the command line says, in one go and without a terminal."""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections.abc import Mapping
from typing import Any, NamedTuple

from faulttree.book.model import Book
from faulttree.book.nearest import nearest
from faulttree.errors import BadAnswer, FaulttreeError, UnknownName

from .. import options, places, settings, writing

CAUSES_PRINTED = 8
STEPS_PRINTED = 5
WORTH = 0.001
"""Causes less likely than that are not counted among those that are not printed."""
STATES = 500
"""What is refined within: the same for the same input, and done in a fraction of a second."""


class _InOrder(argparse.Action):
    """Keeps symptoms, answers, finds and actions in the order typed: what follows an action is a later epoch."""

    def __call__(
        self, parser: argparse.ArgumentParser, given: argparse.Namespace, values: Any, option: str | None = None
    ) -> None:
        given.said = [*(getattr(given, "said", None) or []), (self.dest, values)]


IN_ORDER = (
    ("symptom", "SYMPTOM", "what the gear did"),
    ("without", "SYMPTOM", "what it did not do"),
    ("answer", "CHECK=OUTCOME", "what a check showed"),
    ("unsure", "CHECK=OUTCOME", "what a check showed, not for sure"),
    ("reading", "CHECK=VALUE UNIT", "what was measured; judged by the --limit that belongs to it"),
    ("found", "FAULT", "a fault seen with one's own eyes"),
    ("did", "ACTION", "a repair that was done; what is given after it came later"),
)
"""Options that tell of the course of a case, with metavar and help."""

AROUND = (
    ("circumstance", "CIRCUMSTANCE", "what surrounded the squawk"),
    ("standing", "CONDITION", "a state in which the aircraft stands already"),
    ("lacking", "EQUIPMENT", "equipment that is not at hand"),
)


def add_parser(commands: options.Commands) -> None:
    """The command's words."""
    parser = options.command(
        commands, "rank", "rank causes and next steps for what is known",
        "Prints the likely causes and the best next steps for what the options tell, and asks nothing. Names of "
        "symptoms, checks and all else are those of `faulttree knowledge list`. The same words give the same answer.",
        'faulttree rank --family electromechanical --squawk "wouldnt come up"',
        "faulttree rank --aircraft QQ-ELM --symptom horn-silent --people 1",
        "faulttree rank --family electromechanical --symptom will-not-retract \\",
        '    --answer bus-volts=holds --circumstance wet --json',
    )  # fmt: skip
    options.add_family(parser, "; needed unless --aircraft names one with a profile")
    options.add_aircraft(parser, "; options and limits are those of its profile")
    parser.add_argument("--squawk", metavar="TEXT", help="the pilot's words, in quotes")
    course = parser.add_argument_group("what happened, in this order; each may be repeated")
    for name, word, told in IN_ORDER:
        course.add_argument(f"--{name}", action=_InOrder, metavar=word, help=told)
    told = "the manual's limit, and in brackets where it stands; may be repeated"
    parser.add_argument("--limit", action="append", default=[], metavar="LIMIT=VALUE UNIT (REFERENCE)", help=told)
    for name, word, told in AROUND:
        parser.add_argument(f"--{name}", action="append", default=[], metavar=word, help=f"{told}; may be repeated")
    options.add_fitted(parser)
    options.add_knowledge(parser)
    told = "flight hours since the gear was last known good"
    parser.add_argument("--hours", type=options.number, metavar="HOURS", help=told)
    parser.add_argument("--people", type=options.whole_number, metavar="NUMBER", help="how many are at hand")
    parser.add_argument("--quick", action="store_true", help="the quick choice alone, not played to the end")
    parser.add_argument("--all", action="store_true", help=f"print every cause, not only the first {CAUSES_PRINTED}")
    options.add_json(parser)
    parser.set_defaults(run=run, said=[])


def run(given: argparse.Namespace) -> int:
    """Works it out and prints it."""
    from faulttree.advice import ROUGH_CUT, Advisor, Budget
    from faulttree.belief import Believer, Reported
    from faulttree.book.files import laid_over

    if given.hours is not None and not 0 < given.hours <= 20000:
        raise FaulttreeError("--hours lies between 0 and 20000")
    shop = settings.read()
    family, fitted, limits = _aircraft(given)
    overlays = shop.overlays_and(given.knowledge)
    book = places.load(family, fitted, overlays)
    heard = _heard(book, given)
    evidence = _evidence(book, given, heard, limits)
    advisor = Advisor(book, shop.figures_for(book))
    belief = Believer(book).believe(evidence)
    situation = _situation(book, advisor, given, evidence)
    if not any(isinstance(entry, Reported) for entry in evidence.entries):
        raise FaulttreeError("say what the pilot reported: --squawk TEXT, or --symptom SYMPTOM")
    if given.quick:
        advice = advisor.advise(belief, situation, cut=ROUGH_CUT)
    else:
        advice = advisor.refine(belief, situation, Budget(STATES))
    result = as_data(book, given, heard, belief, advice)
    result["knowledge"]["overlays"] = laid_over(overlays, places.overlay_digests(family, overlays))
    if given.json:
        print(json.dumps(result, indent=2, ensure_ascii=False))
    else:
        text = _as_text(book, result, None if given.all else CAUSES_PRINTED)
        wide = writing.window_width(sys.stdout)
        print(writing.at_words(text, wide) if wide else text)
    return 0


def _aircraft(given: argparse.Namespace) -> tuple[str, list[str], dict[str, float]]:
    """Family, options and limits: of the profile where one is named, what is given by hand before it."""
    if given.aircraft is None:
        if given.family is None:
            raise FaulttreeError("say which gear: --family F, or --aircraft NAME for one with a profile")
        return given.family, given.fitted, {}
    from ..desk import Desk  # brings the database, which nothing else here needs

    profiles = Desk().profiles
    profile = profiles.find(given.aircraft)
    if profile is None:
        near = nearest(given.aircraft, [known.name for known in profiles.all()])
        hint = f"the nearest is {near!r}" if near else "`faulttree aircraft` lists them"
        raise FaulttreeError(f"there is no profile of {given.aircraft!r}; {hint}")
    if given.family not in (None, profile.family):
        raise FaulttreeError(f"{profile.name} has {profile.family} gear by its profile, not {given.family}")
    said = {option.partition("=")[0] for option in given.fitted if "=" in option}
    fitted = [f"{group}={option}" for group, option in profile.fitted.items() if group not in said]
    limits = {name: float(limit["value"]) for name, limit in profile.limits.items()}
    return profile.family, [*given.fitted, *fitted], limits


class _Heard(NamedTuple):
    """What was heard in the pilot's words: symptoms with their scores in 0 … 1, best first, and what they deny."""

    scores: Mapping[str, float]
    absent: tuple[str, ...]


def _heard(book: Book, given: argparse.Namespace) -> _Heard:
    """Raises FaulttreeError where nothing is recognised and no symptom is named."""
    named = {text for option, text in given.said if option == "symptom"}
    for name in (text for option, text in given.said if option == "without" and text in named):
        raise FaulttreeError(f"{name} is given with --symptom and with --without; leave out one of the two")
    if not given.squawk or not given.squawk.strip():
        return _Heard({}, ())  # what compares words need not be loaded then
    from faulttree.squawk import match

    heard = match(book, given.squawk)
    if not heard.symptoms and not named:
        near = ", ".join(f"{m.id} ({book.symptoms[m.id].name})" for m in heard.unsure)
        hint = f"perhaps {near}: name it with --symptom" if near else "`faulttree knowledge list` has them all"
        raise FaulttreeError(f"no symptom is recognised in {given.squawk!r}; {hint}")
    return _Heard({m.id: m.score for m in heard.symptoms}, heard.absent)


def _pair(text: str, option: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name or not value.strip():
        raise FaulttreeError(f"--{option} {text!r}: write it as NAME=VALUE")
    return name.strip(), value.strip()


def _evidence(book: Book, given: argparse.Namespace, heard: _Heard, of_profile: dict[str, float]) -> Any:
    from faulttree.belief import Denied, Did, Evidence, Found, Reported, plain, unsure

    entries: list[Any] = [Reported(name) for name in heard.scores]
    limits = of_profile | dict(_limit(book, text) for text in given.limit)
    for option, text in given.said:
        if option == "symptom":
            entries.append(Reported(_known(book.symptoms, text, "symptom")))
        elif option == "without":
            entries.append(Denied(_known(book.symptoms, text, "symptom")))
        elif option == "found":
            entries.append(Found(_known(book.faults, text, "fault")))
        elif option == "did":
            entries.append(Did(_known(book.actions, text, "action")))
        elif option == "reading":
            entries.append(_reading(book, text, limits))
        else:
            check, outcome = _pair(text, option)
            shape = plain if option == "answer" else unsure
            entries.append(shape(book, _known(book.checks, check, "check"), outcome))
    circumstances = tuple(_known(book.circumstances, c, "circumstance") for c in given.circumstance)
    return Evidence(tuple(entries), circumstances, given.hours)


def _known(items: Any, name: str, kind: str) -> str:
    if name in items:
        return name
    near = nearest(name, items)
    hint = f"the nearest is {near!r}" if near else "`faulttree knowledge list` names all there are"
    raise UnknownName(f"there is no {kind} {name!r}; {hint}")


def _limit(book: Book, text: str) -> tuple[str, float]:
    from faulttree.units import convert, parse_quantity

    name, value = _pair(text, "limit")
    limit = book.limits[_known(book.limits, name, "limit")]
    found = re.fullmatch(r"(.*?)\s*\((.+)\)", value)
    if not found:
        raise BadAnswer(f"--limit {text!r}: say where the limit stands, in brackets behind it")
    return limit.id, convert(parse_quantity(found[1]), limit.unit).value


def _reading(book: Book, text: str, limits: dict[str, float]) -> Any:
    from faulttree.belief import measured
    from faulttree.units import convert, parse_quantity

    name, value = _pair(text, "reading")
    check = book.checks[_known(book.checks, name, "check")]
    if check.reading is None:
        raise BadAnswer(f"{check.id} takes no reading; use --answer with one of its outcomes")
    limit = book.limits[check.reading.limit]
    if limit.id not in limits:
        typical = f" (typical {limit.typical:g} {limit.unit}; confirm in the manual)" if limit.typical else ""
        raise BadAnswer(
            f"{check.id}: no --limit {limit.id} is given{typical}; a reading is judged by the manual's limit"
        )
    return measured(
        book, check.id, convert(parse_quantity(value), check.reading.unit).value,
        convert(parse_quantity(f"{limits[limit.id]} {limit.unit}"), check.reading.unit).value,
    )  # fmt: skip


def _situation(book: Book, advisor: Any, given: argparse.Namespace, evidence: Any) -> Any:
    from faulttree.advice import proofs_of, situation_after
    from faulttree.belief import Reported

    for name in given.standing:
        _known(book.conditions, name, "condition")
    for name in given.lacking:
        _known(book.equipment, name, "equipment")
    proofs = proofs_of(book, [e.symptom for e in evidence.entries if isinstance(e, Reported)])
    standing = advisor.moves.check_standing(given.standing)
    lacking = frozenset(given.lacking)
    return situation_after(book, evidence.entries, proofs, standing=standing, people=given.people, lacking=lacking)


def as_data(book: Book, given: argparse.Namespace, heard: _Heard, belief: Any, advice: Any) -> dict[str, Any]:
    """The answer as plain data, in the form that other programs rely on."""
    said = [text for option, text in given.said if option == "symptom"]
    to_go = advice.to_go
    shown = dict.fromkeys(c for s in advice.suggestions for c in s.cautions)
    symptoms = list(dict.fromkeys([*heard.scores, *said]))
    by_probability = sorted(belief.faults.items(), key=lambda item: (-item[1].probability, item[0]))
    parts = sorted(belief.components.items(), key=lambda item: (-item[1], item[0]))
    return {
        "family": book.family,
        "knowledge": {"version": book.version, "digest": book.digest},
        "assumed": list(book.assumed),
        "symptoms": [{"id": s, "score": heard.scores.get(s, 1.0)} for s in symptoms],
        "absent": list(dict.fromkeys(text for option, text in given.said if option == "without")),
        "heard_absent": list(heard.absent),
        "causes": [_cause(book, fault, b) for fault, b in by_probability],
        "components": [{"component": name, "probability": p} for name, p in parts],
        "unlisted": belief.unlisted,
        "left_out": belief.left_out,
        "conflict_bits": belief.conflict_bits,
        "contradiction": _contradiction(belief),
        "next": [_step(s) for s in advice.suggestions],
        "to_go": {
            "mean": to_go.mean,
            "p50": to_go.p50,
            "p80": to_go.p80,
            "split": dict(to_go.split),
            "money": to_go.money,
        },
        "fetch": {
            "people": advice.fetch.people,
            "equipment": list(advice.fetch.equipment),
            "conditions": list(advice.fetch.conditions),
        },
        "waiting": [
            {"id": w.id, "name": w.name, "people": w.people, "lacking": list(w.lacking)} for w in advice.waiting
        ],
        "cautions": [{"id": c, "level": book.cautions[c].level, "text": book.cautions[c].text} for c in shown],
        "pilot_advice": [line for s in symptoms for line in book.symptoms[s].pilot_advice],
    }


def _cause(book: Book, fault: str, belief: Any) -> dict[str, Any]:
    item = book.faults[fault]
    return {
        "fault": fault, "component": item.component, "leg": item.leg, "name": item.name,
        "probability": belief.probability, "comes_and_goes": belief.comes_and_goes,
    }  # fmt: skip


def _contradiction(belief: Any) -> list[dict[str, Any]] | None:
    from dataclasses import asdict

    if belief.contradiction is None:
        return None
    return [{"kind": type(entry).__name__.lower(), **asdict(entry)} for entry in belief.contradiction.answers]


def _step(s: Any) -> dict[str, Any]:
    return {
        "kind": s.kind, "id": s.id, "name": s.name, "expected_minutes": s.expected_minutes,
        "minutes_now": s.minutes_now, "people": s.people, "equipment": list(s.equipment), "needs": list(s.needs),
        "to_set_up": list(s.to_set_up), "to_restore": list(s.to_restore), "cautions": list(s.cautions),
        "saves_minutes": s.saves_minutes, "also": list(s.also), "money_now": s.money_now, "refined": s.refined,
        "outcomes": [
            {
                "id": o.id, "label": o.label, "probability": o.probability, "top_cause_after": o.top_cause_after,
                "then": o.then,
            }
            for o in s.outcomes
        ],
        "why": s.why,
    }  # fmt: skip


def _as_text(book: Book, result: dict[str, Any], most: int | None) -> str:
    lines = ["Symptoms: " + (", ".join(book.symptoms[s["id"]].name for s in result["symptoms"]) or "none")]
    if result["assumed"]:
        lines.append("Taken as usual: " + ", ".join(result["assumed"]))
    lines.append("Likely causes:")
    lines += [f"  {c['probability'] * 100:5.1f} %  {c['name']}" for c in result["causes"][:most]]
    lines += _more(result["causes"], most)
    lines.append(f"  {result['unlisted'] * 100:5.1f} %  something the book does not list")
    if result["contradiction"]:
        lines.append("These answers cannot be true together:")
        lines += [f"  {' '.join(str(v) for v in entry.values())}" for entry in result["contradiction"]]
    lines.append("Next:")
    least = min((s["expected_minutes"] for s in result["next"]), default=0.0)
    for number, step in enumerate(result["next"][:STEPS_PRINTED], 1):
        minutes = f"{step['minutes_now']:.0f} min now{_longer(step['expected_minutes'] - least)}"
        lines.append(f"  {number}. {step['name']} [{step['id']}] ({minutes}). {step['why']}")
    to_go = result["to_go"]
    lines.append(f"To go: about {to_go['p50']:.0f} min, 80 in 100 under {to_go['p80']:.0f} min.")
    wanted = [book.equipment[e] for e in result["fetch"]["equipment"]]
    if wanted:
        people = result["fetch"]["people"]
        wanted += [f"{people} people"] if people > 1 else []
        lines.append("Wanted for the next steps: " + "; ".join(wanted))
    for waiting in result["waiting"][:STEPS_PRINTED]:
        wants = ", ".join(book.equipment[e] for e in waiting["lacking"]) or f"{waiting['people']} people"
        lines.append(f"Waits for {wants}: {waiting['name']}.")
    lines += [f"To the pilot: {line}" for line in result["pilot_advice"]]
    return "\n".join(lines)


def _more(causes: list[dict[str, Any]], most: int | None) -> list[str]:
    """How many more causes the list has that are worth a word, and how likely they are at most."""
    more = [c["probability"] for c in causes if c["probability"] >= WORTH][most:] if most is not None else []
    if not more:
        return []
    others = "one more" if len(more) == 1 else f"{len(more)} more"
    return [f"         and {others}, {max(more) * 100:.1f} % at most; --all prints every cause"]


def _longer(minutes: float) -> str:
    """What a step costs more than the best; the minutes of cost themselves are no time, since comebacks count too."""
    return f", about {minutes:.0f} longer in all" if minutes >= 1.0 else ""
