"""The questions of the one regression case that comes with a new entry, and its beginning from a closed case."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from faulttree.book.model import Book
from faulttree.case import CaseEntry, add_up, standing_entries
from faulttree.case.course import number
from faulttree.errors import BadAnswer, FaulttreeError
from faulttree.workshop.authoring import answers
from faulttree.workshop.authoring.ground import ANSWERS, Named
from faulttree.workshop.authoring.questions import OFFERED, Asker, Asking, Question
from faulttree.workshop.finding import by_words

KINDS = ("answer", "unsure", "found", "reading")

USUAL_WITHIN, MOST_WITHIN = "3", 50

TRADE_FIRST = (
    "Say what the trade expects before you look at what the program says. Where the two differ, find out who is "
    "wrong; a case is never bent to pass."
)

Data = dict[str, Any]


def asks_for_case(
    asker: Asker, about: str, told: str, symptoms: Sequence[str], cause: str, answer: str, seen: Sequence[str] = ()
) -> Asking[tuple[str, Data]]:
    """The id and fields of the case. ``symptoms`` are those proposed, ``cause`` what has to come out, "" if that is to
    be asked; ``answer`` the new check's as ``check=outcome``, "" without one; ``seen`` a new fault, of each leg."""
    name = yield from asker.new_id(
        "case.id", "cases", about, lines=("A worked example is kept beside what you add, and worked with every check.",)
    )
    description = yield from _description(asker, told)
    reported = yield from _reported(asker, symptoms)
    steps = yield from _steps(asker, answer, seen, told)
    if not cause:
        cause = yield from asker.entry(
            "case.cause", "Which cause or part has to come out of it?", ["faults", "components"], help=TRADE_FIRST,
            check=lambda name: _in_book(asker, name),
        )  # fmt: skip
    within = yield from asker.ask(
        Question(
            "case.within", "After these answers, how far up has the right cause to come?",
            ("1: it has to lead. 3: it has to be among the first three.",),
            TRADE_FIRST, default=USUAL_WITHIN, default_words=USUAL_WITHIN,
            take=lambda typed: str(answers.count(typed, MOST_WITHIN)),
        )
    )  # fmt: skip
    data: Data = {"description": description, "origin": "shop"}
    data |= {key: list(asker.seed[f"fixed.{key}"].split()) for key in _FIXED if asker.seed.get(f"fixed.{key}")}
    data["symptoms"] = list(reported)
    if "fixed.case" in asker.seed:
        data["from_case"] = asker.seed["fixed.case"]
    if "fixed.hours" in asker.seed:
        data["hours"] = float(asker.seed["fixed.hours"])
    if steps:
        data["steps"] = steps
    return name, {**data, "expect": {"cause": cause, "within": int(within)}}


_FIXED = ("fitted", "absent", "circumstances")


def _description(asker: Asker, told: str) -> Asking[str]:
    usual = f"{told.replace(':', ',')}, as the shop met it."
    question = Question(
        "case.description", "What does the worked example keep true, in a sentence?", (),
        "It is worked with every check of the knowledge, so that nobody breaks what you add without seeing it.",
        default=usual, default_words=usual,
    )  # fmt: skip
    return (yield from asker.ask(question))


def _reported(asker: Asker, symptoms: Sequence[str]) -> Asking[tuple[str, ...]]:
    """What was reported: of one symptom it is that; of several it is asked."""
    if len(symptoms) == 1:
        return tuple(symptoms)
    named = {one: asker.ground.known(["symptoms"], one) for one in symptoms}
    proposed = {f"case.symptom.{i}": one for i, one in enumerate(symptoms, 1)}
    seeded = Asker(asker.ground, {**proposed, f"case.symptom.{len(symptoms) + 1}": "", **asker.seed})
    return (
        yield from seeded.entries(
            "case.symptom",
            "What did the pilot report?",
            ["symptoms"],
            least=1,
            more=list(named.values()),
            help=TRADE_FIRST,
        )
    )


def _steps(asker: Asker, answer: str, seen: Sequence[str], told: str) -> Asking[list[Data]]:
    """What was answered and found, in order. The new check's answer is proposed where nothing else is."""
    found: list[str] = []
    own = [Named(answer, "The new check, as it shows then")] if answer else []
    own += [Named(fault, "The new cause, seen with one's own eyes") for fault in seen]
    while True:
        key = f"case.step.{len(found) + 1}"
        proposed = asker.seed.get(key) or (answer if answer and answer not in " ".join(found) else "")

        def find(typed: str) -> Sequence[Named]:
            known = {one.id: f"{one.id} {one.name} {told}" for one in own}
            mine = [one for one in own if one.id in by_words(typed, {name: [text] for name, text in known.items()})]
            return [*mine, *asker.ground.find([ANSWERS, "faults"], typed, OFFERED - len(mine))]

        def take(typed: str) -> str:
            return _step(asker, typed, [one.id for one in own], found)

        so_far = (f"So far: {'; '.join(found)}. Enter ends the list.",) if found and not proposed else ()
        question = Question(
            key, "In the worked example, what was answered or found, in order?",
            ("Words of a check and its result, or of a cause seen, then the number; each with Enter.", *so_far),
            "The answers that led to it, as in a real job: what was asked, looked at, measured. "
            "Type none to end the list where Enter would take something.",
            default=proposed, default_words=proposed or "no more", find=find, take=take,
        )  # fmt: skip
        said = yield question
        if not said:
            return [_as_data(one) for one in found]
        found.append(said)


def _step(asker: Asker, typed: str, own: Sequence[str], before: Sequence[str]) -> str:
    """A step as ``kind what``; a bare ``check=outcome`` is an answer, a bare fault was seen."""
    words = typed.strip()
    if words in ("", "none"):
        return ""
    kind, _, what = words.partition(" ")
    if kind not in KINDS:
        kind, what = ("answer" if "=" in words else "found"), words
    said = f"{kind} {what}"
    if said in before:
        raise BadAnswer("that is there already; Enter ends the list")
    if said in asker.seed.values():
        return said  # of a real case, whose aircraft may have options that bring the check in
    if kind == "reading":
        raise BadAnswer("a reading is taken from a closed case only; answer by the result, as check=result")
    if kind in ("answer", "unsure") and what not in own:
        asker.ground.known([ANSWERS], what)
    if kind == "found" and what not in own:
        _in_book(asker, what)
    return said


def _in_book(asker: Asker, name: str) -> None:
    if name not in asker.ground.book.faults and name not in asker.ground.book.components:
        legs = asker.ground.members("faults", name)
        right = f"say which leg: {', '.join(legs)}" if legs else "type a word or two of its name"
        raise BadAnswer(f"the book at its usual options has no cause {name!r}; {right}")


def _as_data(said: str) -> Data:
    kind, _, what = said.partition(" ")
    if kind == "reading":
        reading, _, limit = what.partition("; ")
        return {"reading": reading, **({"limit": limit} if limit else {})}
    return {kind: what}


@dataclass(frozen=True, slots=True)
class Beginning:
    """What a closed case brings: the cause in words, the squawk, and answers proposed, by key."""

    cause: str
    squawk: str
    seed: Mapping[str, str]


def begin_with(name: str, entries: Sequence[CaseEntry], book: Book, today: Book) -> Beginning:
    """A closed case whose cause its book did not have. Raises FaulttreeError for any other.

    Its cause is proposed as the way of failing, its symptoms and what was found before the first repair for the case;
    what today's book no longer has is left out.
    """
    state = add_up(book, entries)
    cause = state.cause_in_words or (state.found_other[-1] if state.found_other else "")
    if not state.closed:
        raise FaulttreeError(f"case {name} is not closed; finish it first, or begin without it")
    if state.cause is not None:
        raise FaulttreeError(
            f"the cause of case {name} is in the book: {state.cause}; `faulttree knowledge rates` counts it"
        )
    if not cause:
        raise FaulttreeError(f"case {name} names no cause in words; begin without it")
    symptoms = [one for one in state.reported if one in today.symptoms]
    seed = {"kind": "cause", "mode": cause[: answers.LONGEST]}
    seed |= _listed("brings", symptoms) | _listed("case.symptom", symptoms)
    steps = list(_logged(entries, today))
    seed |= _listed("case.step", steps)
    if not seed["case.step.1"]:
        del seed["case.step.1"]
    if state.squawk:
        seed["case.description"] = f"Case {name}: {' '.join(state.squawk.split())[:200]}"
    seed["fixed.case"] = name
    seed["fixed.fitted"] = " ".join(one.partition("=")[2] or one for one in state.opened.get("fitted", []))
    seed["fixed.absent"] = " ".join(one for one in state.denied if one in today.symptoms and one not in symptoms)
    seed["fixed.circumstances"] = " ".join(one for one in state.circumstances if one in today.circumstances)
    if state.hours is not None:
        seed["fixed.hours"] = f"{state.hours:g}"
    return Beginning(cause, state.squawk, seed)


def _listed(key: str, found: Sequence[str]) -> dict[str, str]:
    return {f"{key}.{i}": one for i, one in enumerate([*found, ""], 1)}


def _logged(entries: Sequence[CaseEntry], today: Book) -> list[str]:
    """Answers, readings and what was seen, before the first repair."""
    found: list[str] = []
    for entry in standing_entries(entries):
        data = entry.data
        if entry.kind in ("did", "did-other"):
            break
        if entry.kind == "found" and data["fault"] in today.faults:
            found.append(f"found {data['fault']}")
        check = today.checks.get(data.get("check", ""))
        if check is None:
            continue
        if entry.kind == "answer" and data.get("outcome") in [one.id for one in check.outcomes]:
            found.append(f"{'answer' if data.get('sure', True) else 'unsure'} {check.id}={data['outcome']}")
        if entry.kind == "reading" and check.reading is not None:
            limit = f"{check.reading.limit}={number(data['limit'])} {data['unit']} ({_inert(data['reference'])})"
            found.append(f"reading {check.id}={number(data['value'])} {data['unit']}; {limit}")
    return list(dict.fromkeys(found))


def _inert(reference: str) -> str:
    return " ".join(reference.replace("(", " ").replace(")", " ").replace(";", ",").split()) or "not stated"
