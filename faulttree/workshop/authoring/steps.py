"""The questions of a new check and of a new repair."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from faulttree.errors import BadAnswer
from faulttree.workshop.authoring import answers
from faulttree.workshop.authoring.ground import TAPS, Named
from faulttree.workshop.authoring.questions import Asker, Asking, Question, chosen

KINDS = (
    ("ask", "a question to the pilot: costs a minute, touches nothing"),
    ("look", "a look: eyes and hands"),
    ("test", "a test: power, tools or instruments"),
)

MOST_OUTCOMES = 6

SELDOM = 0.3
"""A check that shows less of what is there is hardly one; mostly the number was meant the other way round."""

KIND_HELP = "Questions and looks come first where they tell as much; a test needs its conditions set up."

NEEDS_HELP = (
    "What it cannot be done without, not what is handy: each is set up before the step, with its minutes and its "
    "cautions. What a condition implies need not be named."
)

NOTHING_MADE_SAFE = (
    "Nothing is set up before it: power may be on, pressure up, a leg in doubt while hands are there. < goes back "
    "where that must not be."
)

Data = dict[str, Any]


def a_check(asker: Asker, fault: Named | None) -> Asking[tuple[str, Data]]:
    """Its id and fields. With a new ``fault`` its first result stands for that; else each for what the book has."""
    intro = (f"Whether or not a check of the book shows it, this one does. Cause: {fault.name}.",) if fault else ()
    name = yield from asker.words("check", "What is checked?", "Such as: Voltage leaving the horn relay.", *intro,
        help="Its name on every list. A look that can show several things is several checks.",
    )  # fmt: skip
    made = yield from asker.new_id("check.id", "checks", name)
    kind = yield from asker.ask(chosen("check.kind", "What kind of check is it?", KINDS, None, KIND_HELP))
    data: Data = {"name": name, "kind": kind}
    if kind == "ask":
        data["ask"] = yield from asker.words("check.ask", "The question, as it is put to the pilot?",
            help="About the squawk, as it was then. It takes a minute, and a sleeping fault counts as awake.",
        )  # fmt: skip
        data["minutes"] = 1.0
    else:
        how = yield from asker.words(
            "check.how", "How is it done, in a sentence?", optional=True,
            help="Shown with the step. Never a limit: those stand in the maker's manual.",
        )  # fmt: skip
        data |= {"how": [how]} if how else {}
        data |= yield from _work(asker, "check")
    data["outcomes"] = yield from _outcomes(asker, fault)
    data |= yield from _accuracy(asker)
    return made, data


def _outcomes(asker: Asker, fault: Named | None) -> Asking[Data]:
    """At least one result with what it stands for, then the one that remains."""
    found: Data = {}
    help = "The first result whose event holds is the true one; the last is what remains: all as it should be."
    while len(found) < (1 if fault else MOST_OUTCOMES):
        number = len(found) + 1
        title = "What does it show when this is the cause?" if fault else f"Result {number}: what does it show?"
        label = yield from asker.words(
            f"outcome.{number}", title, "As it is offered, in a few words: No voltage.", help=help,
            optional=bool(found),
        )  # fmt: skip
        if not label:
            break
        made = yield from _outcome_id(asker, f"outcome.{number}.id", label, found)
        if fault:
            found[made] = {"label": label, "when": fault.id}
            break
        when = yield from asker.entries(
            f"outcome.{number}.when", f"What does “{label}” stand for?", ["faults", "events", TAPS], least=1,
            help="Causes, events or points of a circuit; any of them alone brings this result about.",
        )  # fmt: skip
        found[made] = {"label": label, "when": when[0] if len(when) == 1 else {"any_of": list(when)}}
    label = yield from asker.words("otherwise", "And what does it show otherwise?", "Such as: Bus voltage.", help=help)
    made = yield from _outcome_id(asker, "otherwise.id", label, found)
    return {**found, made: {"label": label, "otherwise": True}}


def _outcome_id(asker: Asker, key: str, label: str, taken: Data) -> Asking[str]:
    """Short, and unlike those that the check has."""

    def take(typed: str) -> str:
        name = answers.identifier(typed)
        if name in taken:
            raise BadAnswer(f"the check has a result {name} already")
        return name

    suggested = "-".join(answers.slug(label).split("-")[:3])
    if not suggested or suggested in taken:
        suggested = f"result-{len(taken) + 1}"
    help = "Cases and records name the result by it."
    question = Question(key, "The id of this result?", (), help, default=suggested, default_words=suggested, take=take)
    return (yield from asker.ask(question))


def _accuracy(asker: Asker) -> Asking[Data]:
    detects = yield from asker.number(
        "detects", "How surely does it show what is there?", partial(answers.probability, least=0.01),
        "As 95 % or 0.95.",
        help="Of a hundred with the cause, how many times is it seen? 95 % for a good test, 70 % for a pilot's memory.",
        words=answers.in_percent,
    )  # fmt: skip
    if detects < SELDOM:
        detects = yield from asker.number(
            f"detects.sure.{detects:g}", "Does it really miss so much? Type it again if it does, or the right one.",
            partial(answers.probability, least=0.01), f"You said {answers.in_percent(detects)}.",
            help="Of a hundred with the cause it is the number that the check shows, not the number that it misses.",
            words=answers.in_percent,
        )  # fmt: skip
    alarm = yield from asker.number(
        "false-alarm", "How often does it show what is not there?", partial(answers.probability, below_one=True),
        "As 3 % or 0.03.", help="Of a hundred without the cause, how many times does it look like it all the same?",
        words=answers.in_percent,
    )  # fmt: skip
    return {"detects": detects, "false_alarm": alarm, "basis": (yield from asker.basis("check.basis"))}


def an_action(asker: Asker, checks: Sequence[Named] = ()) -> Asking[tuple[str, Data]]:
    """Its id and fields. ``checks`` are new ones that may be due after it, beside those of the book."""
    name = yield from asker.words(
        "action", "What is the repair called?", "Such as: Replace the horn relay.", help="What is done, not how."
    )
    made = yield from asker.new_id("action.id", "actions", name)
    data: Data = {"name": name, **(yield from _work(asker, "action"))}
    parts = yield from asker.words("action.parts", "Which parts does it use up?", optional=True,
        help="By what the maker's list calls them; the number stands there.",
    )  # fmt: skip
    data |= {"parts": [parts]} if parts else {}
    after = yield from asker.entries(
        "action.follow-up", "Which check is due after it, before the squawk is proved gone?", ["checks"], more=checks,
        help="Such as the test of what was disturbed. The proof of the squawk itself comes anyway.",
    )  # fmt: skip
    data |= {"follow_up": list(after)} if after else {}
    return made, {**data, "basis": (yield from asker.basis("action.basis"))}


def _work(asker: Asker, key: str) -> Asking[Data]:
    """What a step needs, its minutes and its cautions."""
    needs = yield from asker.entries(
        f"{key}.needs",
        "What has to be set up on the aircraft before it?",
        ["conditions"],
        "Such as: on jacks, the motor breaker pulled, a panel out. Enter where nothing has.",
        help=NEEDS_HELP,
    )
    minutes = yield from asker.number(
        f"{key}.minutes", "How many minutes does it take, once that is set up?", answers.minutes, "As 20 or 1 h 20.",
        help="On the clock, without setting up: the conditions have minutes of their own.", words=answers.in_minutes,
    )  # fmt: skip
    equipment = yield from asker.entries(
        f"{key}.equipment", "Which equipment does it take?", ["equipment"],
        "Such as: multimeter, jacks. Enter where it takes hand tools alone.",
        help="Nobody is sent to a step whose equipment is not there. What a set-up takes belongs to that.",
    )  # fmt: skip
    unsafe = () if needs else (NOTHING_MADE_SAFE,)
    cautions = yield from asker.entries(
        f"{key}.caution", "Is there a caution for it?", ["cautions"], *unsafe,
        help="Those of the part and of what is set up are shown anyway. Add what is dangerous in this very step.",
    )  # fmt: skip
    data: Data = {"needs": list(needs)} if needs else {}
    data["minutes"] = minutes
    data |= {"equipment": list(equipment)} if equipment else {}
    return {**data, "cautions": list(cautions)} if cautions else data
