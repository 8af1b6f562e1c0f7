"""A go-to chart for people: the words of its steps, the same in HTML, PDF and Markdown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from faulttree.papers.chartmoves import Data, kept_until, moves
from faulttree.papers.chartproofs import Marks, Stops, due_after, marks_of, provings
from faulttree.papers.page import cut, percent

COMMON = 0.5
"""A caution that holds for so many of the steps with hands on is told in full at the front and by its mark after."""

SHORT = 44
"""Signs of a caution's first words in the box before a step."""

SIZE, LARGER = 6.8, (10.0, 9.0, 8.4, 7.8, 7.3)
"""Points of the type, in which pages are counted; larger ones, of which that is taken which needs no page more."""

KIND_WORDS = {"ask": "Ask", "check": "Check", "act": "Repair", "help": "Help"}

FOLLOWING = (
    "Begin at step 1. Before each step read, in full, every caution that the box at its head names by its mark, "
    "before you touch anything. Tick each step and mark what it showed. Go where its line says: → 7 is step 7. "
    "Where nobody can tell, or it cannot be done: the last of its ways. What is to be set up and stands already, "
    "stays; what is to be put back and does not stand, is left. S1, S2 … are the set-ups at the end: +S2 set it up, "
    "−S2 put it back if it stands, in that order; “S9 if S7 is moved”: only where S7 is set up or put back there. "
    "P1, P2 … are the checks after a repair, at the end too. A repair is followed by all that is named after it, in "
    "that order; what is not well there, and what a step shows that its way does not mend, is written down, and "
    "mended before the job is closed. “After a second try”: what is not gone is looked over and done once more, "
    "with all that follows it, unless a STOP speaks against it. END: gone by every proof; put everything back, what "
    "was set up last first, and write it up. “As in 7” is done as step 7 tells, on the part that the step itself "
    "names; a, b … are what step 7 may show. STOP: what it names and stands is put back at once, and not set up "
    "until the same look, or what is named “if stopped” after a repair, shows well; a step that wants it is not "
    "done: call in a specialist. “If stopped” comes before the rest, and only where a STOP speaks against the rest; "
    "R1, R2 … are several such checks, named at the end. A check after a repair that shows a STOP is done once more "
    "at once, and what it shows then counts. Where a STOP speaks against a check after a repair, leave off there: "
    "not gone. “Done in 5?”: what was is not done again: a repair was not gone, a check shows what it showed then; "
    "but a check that was done before the last repair is done again. What was answered stays answered. The noted "
    "leg is the one that was noted last; beside what a step for it showed write which leg. “As last shown in 5 or "
    "9”: the last of these that you did, before a repair or since; nothing is done there."
)
NOTE_LEG = " (note which leg)"
"""Said where a later step is for the leg that was noted."""

STAYS = "A step that would undo what is set up before anything else is not done: go by its last way."
"""Said of what an answer wants first: the steps were planned for a gear that needs none of it."""

HAND_OVER = (
    "Put back what lets the gear run, make it safe as it stands, tag it, and hand this chart over with what each step "
    "showed. The job stays open. End."
)

NOT_DONE = "not-done"
"""The outcome of a step that looks back at a check, for whoever never did it."""

LETTERS = "abcdefghijklmnopqrstuvwxyz"


def told(chart: Data) -> dict[str, Any]:
    """The chart with its steps in words, for the templates."""
    marks = {c["id"]: c for c in chart["cautions"]}
    common = _common(chart["steps"])
    steps = _warned_before(chart["steps"])
    by_number = {step["number"]: step for step in chart["steps"]}
    named = marks_of(chart)
    sets = named.sets
    minutes = chart["minutes"]
    return {
        "title": chart["symptom"]["name"],
        "gear": chart["gear"], "following": FOLLOWING, "hand_over": HAND_OVER,
        "fitted": "; ".join(chart["fitted"]),
        "says": "; ".join(f"“{words}”" for words in chart["symptom"]["says"]),
        "knowledge": _knowledge(chart["knowledge"]),
        "minutes": f"{minutes['chart']:.0f} min by this chart on average, {minutes['advisor']:.0f} min by the advisor "
        f"on a computer; help is called in {percent(chart['help'])} of cases",
        "stays": STAYS if any(a["first"] for q in chart["opening"] for a in q["answers"]) else "",
        "opening": [
            _opening(question, marks, sets, question is chart["opening"][-1]) for question in chart["opening"]
        ],
        "cautions": _cautions(chart["cautions"]),
        "standing_cautions": [{"level": c["level"], "text": c["text"]} for c in chart["standing_cautions"]],
        "steps": [_step(_beside(step, by_number), marks, common, named) for step in steps],
        "proving": provings(chart["proving"], named),
        "again": [{"mark": mark, "checks": checks} for checks, mark in named.again.items()],
        "set_ups": [
            {
                "mark": sets[c["id"]], "name": c["name"], "equipment": ", ".join(c["equipment"]),
                "hazard": c["hazard"], "set_up": c["set_up"],
                "put_back": kept_until(c["kept_for"], sets) + c["put_back"],
            }
            for c in chart["set_ups"]
        ],
    }  # fmt: skip


def _cautions(cautions: Sequence[Data]) -> list[dict[str, Any]]:
    """Cautions in full, by level; whether each is the first of its own."""
    levels = [c["level"] for c in cautions]
    return [
        {"mark": c["mark"], "level": c["level"], "text": c["text"], "first": c["level"] not in levels[:place]}
        for place, c in enumerate(cautions)
    ]


def _knowledge(knowledge: Data) -> str:
    over = "".join(f"; laid over it: {o['name']}, {o['digest']}" for o in knowledge.get("overlays", ()))
    return f"Knowledge {knowledge['version']}, {knowledge['digest']}{over}"


def _warned_before(steps: Sequence[Data]) -> list[Data]:
    """Steps with the WARNINGs told before, and whether a later one refers to what it may show."""
    found: list[Data] = []
    warned, meant = set[str](), {step["as_in"] for step in steps}
    for step in steps:
        found.append({**step, "warned": set(warned), "meant": step["number"] in meant})
        warned.update(step["cautions"])
    return found


def _beside(step: Data, by_number: Mapping[int, Data]) -> Data:
    """A step with nothing in it that the one tells to which it refers."""
    told_there = by_number.get(step["as_in"] or 0)
    if told_there is None:
        return step
    same = {key for key in ("equipment", "parts", "limit") if step[key] == told_there[key]}
    empty: dict[str, Any] = {"equipment": [], "parts": [], "limit": None}
    return {**step, **{key: empty[key] for key in same}, "ask": ""}


def _common(steps: Sequence[Data]) -> set[str]:
    hands_on = [step for step in steps if step["kind"] in ("check", "act")]
    every = [c for step in hands_on for c in step["cautions"]]
    return {c for c in every if every.count(c) >= COMMON * len(hands_on)}


def _opening(question: Data, marks: Mapping[str, Data], sets: Mapping[str, str], last: bool) -> dict[str, Any]:
    """What an answer asks for before step 1; a harmless answer asks for nothing."""
    answers, then = [], "Then step 1." if last else "Then the next question."
    for answer in question["answers"]:
        first = ", ".join(f"{sets[c['id']]} {c['name']}" for c in answer["first"])
        words = [f"Before anything else: {first}."] if first else []
        words += [answer["says"]] if answer["says"] else []
        words += [f"Read {' '.join(marks[c]['mark'] for c in answer['cautions'])}."] if answer["cautions"] else []
        answers.append({"label": answer["label"], "words": " ".join([*words, then])})
    return {"ask": question["ask"], "answers": answers}


def _step(step: Data, marks: Mapping[str, Data], common: set[str], named: Marks) -> dict[str, Any]:
    if step["looks_back"]:
        return _look_back(step, named)
    return {
        "number": step["number"], "kind": step["kind"], "word": KIND_WORDS[step["kind"]], "name": step["name"],
        "brief": step["as_in"] is not None,
        "ask": step["ask"], "how": _how(step), "about": _about(step),
        "cautions": _box(step, marks, common | step["warned"]),
        "moves": moves(step, named.sets),
        "again": _again(step), "limit": _limit(step["limit"]),
        "due": due_after(step["due"], named),
        "parts": "; ".join(step["parts"]),
        "outcomes": _outcomes(step, named.stops),
    }  # fmt: skip


def _look_back(step: Data, named: Marks) -> dict[str, Any]:
    """A step at which nothing is done: what an earlier one showed tells the way on."""
    legs = {one["number"]: f" (if {one['leg']})" for one in step["looked_up"] if one["leg"]}
    *others, last = [f"{n}{legs.get(n, '')}" for n in step["again"]]
    where = f"{', '.join(others)} or {last}" if others else last
    when = "as last shown" if step["kind"] == "back" else "as shown"
    return {
        "number": step["number"], "kind": "ask", "word": "Look back",
        "name": f"{step['name']}, {when} in step {where}",
        "ask": "", "how": [], "about": "", "cautions": [], "moves": [], "again": "", "limit": "", "due": [],
        "parts": "", "outcomes": _outcomes(step, named.stops), "brief": True,
    }  # fmt: skip


def _box(step: Data, marks: Mapping[str, Data], common: set[str]) -> list[dict[str, str]]:
    """Cautions of a step by level: marks of all, and first words of WARNINGs that are rare and not told yet."""
    found = []
    for level in ("WARNING", "CAUTION", "NOTE"):
        here = sorted(
            (marks[c] for c in step["cautions"] if marks[c]["level"] == level), key=lambda c: int(c["mark"][1:])
        )
        own = [
            f"{c['mark']} {cut(_first_words(c['text']), SHORT)}"
            for c in here if level == "WARNING" and c["id"] not in common
        ]  # fmt: skip
        bare = _ranges([c["mark"] for c in here if level != "WARNING" or c["id"] in common])
        if here:
            found.append({"level": level, "text": " · ".join([*([bare] if bare else []), *own])})
    return found


def _ranges(marks: Sequence[str]) -> str:
    """Marks in their order, three and more in a row as in W3–W6."""
    runs: list[list[int]] = []
    for number in (int(mark[1:]) for mark in marks):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    letter = marks[0][0] if marks else ""
    told = [
        f"{letter}{run[0]}–{letter}{run[-1]}" if len(run) > 2 else " ".join(f"{letter}{n}" for n in run) for run in runs
    ]
    return " ".join(told)


def _first_words(text: str) -> str:
    return text.partition(". ")[0].rstrip(".")


def _about(step: Data) -> str:
    words = [f"{step['minutes']:.0f} min"] if step["minutes"] else []
    words += [f"{step['waits']:g} h wait"] if step["waits"] else []
    words += [f"{step['people']} people"] if step["people"] > 1 else []
    return " · ".join([*words, *step["equipment"]])


def _how(step: Data) -> list[str]:
    """How it is done; where an earlier step tells it, the number of that one."""
    return [f"As in {step['as_in']}."] if step["as_in"] else list(step["how"])


def _again(step: Data) -> str:
    if not step["again"]:
        return ""
    where = ", ".join(str(n) for n in step["again"])
    return f"Answered in {where}?" if step["lasting"] else f"Done in {where}?"


def _limit(limit: Data | None) -> str:
    if limit is None:
        return ""
    typical = ""
    if limit["typical"] is not None:
        typical = f" Typical {limit['typical']:g} {limit['unit']}; confirm in the manual."
    return f"Limit: {limit['name']}, {limit['unit']}, from {limit['where']}: ________.{typical}"


def _outcomes(step: Data, stops: Stops) -> list[dict[str, Any]]:
    """Ways on, those that lead to the same step in one line; by letter where another step tells what it may show."""
    together: dict[tuple[tuple[str, ...], str], list[str]] = {}
    notes = set[tuple[tuple[str, ...], str]]()
    for place, o in enumerate(step["outcomes"]):
        stop, go, letter = tuple(o["stops"]), _go(o["go"]), LETTERS[place]
        label = o["label"] if step["kind"] == "act" or not (step["as_in"] or step["meant"]) else letter
        label = f"{letter} {o['label']}" if label == letter and not step["as_in"] else label
        label = label.partition(",")[0] if step["kind"] == "act" and step["as_in"] else label
        if step["kind"] == "back" and o["id"] == NOT_DONE:
            label = "or not done" if (stop, go) in together else "not done"
        together.setdefault((stop, go), []).append(label)
        notes.update({(stop, go)} if o["notes"] else ())
    between = " " if step["as_in"] and step["kind"] != "act" else " · "
    ways = []
    for (stop, go), labels in together.items():
        said = between.join(labels) + (NOTE_LEG if (stop, go) in notes else "")
        number = go.removeprefix("→ ")
        ways.append({
            "label": said, "stop": _stop(stop, step["as_in"], stops), "go": go,
            "to": number if number.isdecimal() else "",
        })  # fmt: skip
    return ways


def _go(go: Any) -> str:
    return {"end": "→ END", "help": "→ call in a specialist"}.get(go, f"→ {go}")


def _stop(names: Sequence[str], as_in: int | None, stops: Stops) -> str:
    if not names:
        return ""
    return f"STOP as in {as_in}" if as_in else stops.told(names)
