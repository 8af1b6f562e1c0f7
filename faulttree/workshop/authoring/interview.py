"""The interview: which questions a new cause, check or symptom wants, one after the other, and the draft at the end."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from faulttree.book.legs import with_leg
from faulttree.errors import BadAnswer
from faulttree.workshop.authoring import answers
from faulttree.workshop.authoring.draft import Draft, split
from faulttree.workshop.authoring.ground import OUTCOMES, TAPS, Ground, Named
from faulttree.workshop.authoring.questions import NEW, Asker, Asking, Question, chosen, yes
from faulttree.workshop.authoring.reads import Walks, asks_what_reads
from faulttree.workshop.authoring.regression import asks_for_case
from faulttree.workshop.authoring.steps import a_check, an_action

SAME = "One of these? Then it is there already: control-C leaves. If it is shown or mended in another way, go on."

KINDS = (
    ("cause", "a cause: a way in which a part fails"),
    ("check", "a check: a question, a look or a test that shows causes of the book"),
    ("symptom", "a symptom: a squawk that causes of the book bring about"),
)

HOW_OFTEN = (("hours", "by the flight hours, as parts fail"), ("once", "simply so or not, such as a switch left on"))

ENOUGH_SAYS, MOST_SAYS = 5, 20

_ATA = re.compile(r"\d\d-\d\d")

Data = dict[str, Any]


def interview(ground: Ground, seed: Mapping[str, str], walks: Walks) -> Asking[Draft]:
    """All questions of a new entry. ``seed`` are answers that Enter takes, by the key of their question."""
    asker = Asker(ground, seed)
    kind = yield from asker.ask(chosen("kind", "What do you want to add?", KINDS, None, _KIND_HELP))
    if kind == "cause":
        return (yield from _Cause(asker, walks).draft())
    return (yield from (_Check(asker) if kind == "check" else _Symptom(asker)).draft())


_KIND_HELP = (
    "A cause is ranked by how often it happens and how it fits the answers. A check tells causes apart. A symptom is "
    "what pilots report. With a cause you can add the part, the check and the repair that belong to it."
)


class _Interview:
    """What all three have in common."""

    def __init__(self, asker: Asker) -> None:
        self.asker, self.ground = asker, asker.ground

    def amendable(self, place: str) -> None:
        self.ground.amendable(*split(place, self.ground))


class _Cause(_Interview):
    """A fault; with it, if they are new, its component, its check and its repair."""

    def __init__(self, asker: Asker, walks: Walks) -> None:
        super().__init__(asker)
        self.walks = walks
        self.waits: tuple[str, ...] = ()

    def draft(self) -> Asking[Draft]:
        asker, entries = self.asker, dict[str, dict[str, Data]]()
        component, name = yield from self._component(entries)
        options, wanted = self.ground.options_of(component)
        if wanted:
            # A part that the usual options leave out: the case is of an aircraft that has it.
            self.asker = asker = Asker(self.ground, {"fixed.fitted": " ".join(wanted), **asker.seed})
        had = self.ground.rates_of(component)
        known = (f"The book has: {'; '.join(had)}.", SAME) if had else ()
        words = yield from asker.words(
            "mode", "How does it fail?", "The way alone, such as: burned open. The part's name is put before it.",
            *known, help="One thing, one way. What acts only in this circuit or in that is several causes.",
            taken=self.ground.modes_of(component),
        )  # fmt: skip
        fault = yield from asker.new_id("mode.id", "faults", words, f"{component}.")
        data: Data = {"name": words, **(yield from self._often(component, had))}
        data |= yield from self._comes_and_goes()
        circumstances = yield from asker.entries(
            "promoted", "What makes it likelier? Wet, cold, after maintenance …", ["circumstances"],
            help="A circumstance of the squawk that multiplies its rate. Only what you have seen matter.",
        )  # fmt: skip
        if circumstances:
            data["promoted_by"] = list(circumstances)
        symptoms, places = yield from self._brings()
        seen, check = yield from self._shown(entries, Named(fault, f"{name}: {words}"), places)
        data["corrected_by"] = [(yield from self._mended(entries, places, seen))]
        for section in ("checks", "actions"):
            for made in entries.get(section, {}).values():
                made |= {"fitted": list(options)} if options else {}
        entries = {"components": entries.pop("components", {}), "faults": {fault: data}, **entries}
        if not entries["components"]:
            del entries["components"]
        legs = self.ground.legs_of(component)
        tied = [s for s in symptoms if not any(s in self.ground.reached_from(place) for place in places)]
        so_far = Draft(
            self.ground.family, "cause", fault, entries, (*tied, *places, *seen), "",
            {"fitted": asker.seed.get("fixed.fitted", "").split()}, legs=legs, waits=self.waits,
        )  # fmt: skip
        reads = yield from asks_what_reads(asker, self.walks, so_far, symptoms, legs)
        expected, seen_as = (component, [with_leg(fault, leg) for leg in legs]) if legs else (fault, [fault])
        case, case_data = yield from asks_for_case(
            asker, fault.replace(".", "-"), f"{name}: {words}", symptoms, expected, check, seen_as
        )
        return replace(so_far, places=(*so_far.places, *reads), case=case, case_data=case_data)

    def _component(self, entries: dict[str, dict[str, Data]]) -> Asking[tuple[str, str]]:
        asker = self.asker
        of_case = asker.seed.get("mode")
        told = (f"In the case it was: {of_case}.",) if of_case else ()
        found = yield from asker.entry(
            "component", "Which part fails?", ["components"], *told, new="a part that the book does not have",
            help="Parts that the book has keep their id, their cautions and their place among the others. What is too "
            "small to be there, such as a clip or a pin, is a way in which its part fails, or a new part.",
        )  # fmt: skip
        if found != NEW:
            return found, self.ground.known(["components"], found).name
        name = yield from asker.words(
            "component.name", "What is the part called?", "As a mechanic calls it: Horn relay.",
            help="The name on every screen and paper. A part that each leg has is better written by hand.",
        )  # fmt: skip
        made = yield from asker.new_id("component.id", "components", name)
        data: Data = {"name": name}
        ata = yield from asker.ask(
            Question(
                "component.ata", "Its ATA 100 sub-chapter, such as 32-60?", default="", default_words="none", take=_ata,
                help="32-10 main gear and doors, 32-20 nose gear, 32-30 extension and retraction, 32-60 position and "
                "warning. Leave it out if you do not know it.",
            )
        )  # fmt: skip
        data |= {"ata": ata} if ata else {}
        cautions = yield from asker.entries(
            "component.caution", "Is there a caution for whoever works on it?", ["cautions"],
            help="It is shown with every step on the part. What stores energy (a spring, a strut, a bottle) needs one.",
        )  # fmt: skip
        data |= {"cautions": list(cautions)} if cautions else {}
        entries["components"] = {made: data}
        return made, name

    def _often(self, component: str, had: list[str]) -> Asking[Data]:
        asker = self.asker
        how = yield from asker.ask(
            chosen("often", "How is it met?", HOW_OFTEN, "hours", "Most causes go by the hours.")
        )
        beside = (f"Beside it: {'; '.join(had)}.",) if had else ()
        counted = ""

        def often(typed: str) -> float:
            nonlocal counted
            counted = answers.counted_as(typed)
            return answers.rate(typed)

        if how == "hours":
            value = yield from asker.number(
                "rate", "How often, per 1000 flight hours of one aircraft?", often,
                "Such as 0.04. Or counted, over the hours of all aircraft: 2 in 5000.", *beside,
                help="Most causes of the book lie between 0.01 and 0.3. A factor of two or three is good enough.",
                words=answers.rate_in_words,
            )  # fmt: skip
            far = self.ground.far_from(component, value)
            if far:
                value = yield from asker.number(
                    f"rate.sure.{value:g}", "Is it really so often? Type it again if it is, or the right one.",
                    often, f"You said {answers.rate_in_words(value)}.", f"It is {far}.",
                    help="A rate is per 1000 flight hours of one aircraft. Counted it is: 2 in 5000.",
                    words=answers.rate_in_words,
                )  # fmt: skip
            word = "rate"
        else:
            value = yield from asker.number(
                "probability", "How likely is it so on any day?",
                partial(answers.probability, least=1e-6, below_one=True), "As 2 % or 0.02.",
                *beside, help="The chance that it is so, whatever was flown.", words=answers.in_percent,
            )  # fmt: skip
            word = "probability"
        usual = "shop-history" if counted else "estimate"
        return {word: value, "basis": (yield from asker.basis("fault.basis", usual, counted))}

    def _comes_and_goes(self) -> Asking[Data]:
        asker = self.asker
        help = "A fault that sleeps when it is looked at is kept in the ranking after a good result."
        if (yield from asker.ask(yes("sleeps", "Does it come and go? y or n", help=help))) == "n":
            return {}
        share = yield from asker.number(
            "sleeps.share", "How many of them come and go? As 30 % or 0.3.",
            partial(answers.probability, least=1e-6), help=help,
        )  # fmt: skip
        shows = yield from asker.number(
            "sleeps.shows", "How often is such a fault there when somebody looks? As 40 % or 0.4.",
            partial(answers.probability, least=1e-6), help=help,
        )  # fmt: skip
        return {"intermittent": {"share": share, "shows": shows}}

    def _brings(self) -> Asking[tuple[tuple[str, ...], tuple[str, ...]]]:
        asker = self.asker
        symptoms = yield from asker.entries(
            "brings", "Which squawk does it bring about?", ["symptoms"], "In the pilot's words, if you like.", least=1,
            check=self._symptom,
            help="All that a pilot may report when it alone is there. One after the other; Enter ends the list.",
        )  # fmt: skip
        places = yield from asker.entries(
            "place", "Does it act in everything like a point of a circuit, or an event, of the book?", [TAPS, "events"],
            "Such as: cuts a circuit at one point. All checks that look there then show it too, and it brings about "
            "all squawks that come of it. If you are not sure, Enter: single results are asked for later.",
            check=self.amendable,
            help="A point of a circuit stands for “dead by here”: anything up to it fails. An event stands for all "
            "its causes alike. Left out, the cause is tied to its squawks, and to the results that you name.",
        )  # fmt: skip
        return symptoms, places

    def _symptom(self, name: str) -> None:
        self.amendable(name)
        if not self.ground.members("symptoms", name):
            raise BadAnswer(f"{name} is not there with the usual options; choose another, or add it by hand afterwards")

    def _shown(
        self, entries: dict[str, dict[str, Data]], fault: Named, places: tuple[str, ...]
    ) -> Asking[tuple[tuple[str, ...], str]]:
        """Outcomes of the book that show it from now on, and the new check's, "" without one."""
        asker = self.asker
        seen = yield from asker.entries(
            "seen", "Does a check of the book show it too, by which result?", [OUTCOMES], check=self.amendable,
            help="It is then added to what this result stands for. Leave it out if only a new check shows it; what the "
            "advice asks first is asked for later, one by one.",
        )  # fmt: skip
        if seen or any(self.ground.looked_at(place) for place in places):
            asked = yes("new-check", "Do you want to add a check of its own? y or n", help="It would tell it apart.")
            if (yield from asker.ask(asked)) == "n":
                return seen, ""
        name, data = yield from a_check(asker, fault)
        entries["checks"] = {name: data}
        return seen, f"{name}={next(iter(data['outcomes']))}"

    def _mended(
        self, entries: dict[str, dict[str, Data]], places: tuple[str, ...], seen: tuple[str, ...]
    ) -> Asking[str]:
        looks = [name for name, data in entries.get("checks", {}).items() if data["kind"] != "ask"]

        def check(name: str) -> None:
            waits = self.ground.waits_for(name, places, seen)
            if waits and looks:
                self.ground.amendable("actions", name, "after_any")
            elif waits:
                raise BadAnswer(
                    f"{name} is proposed only after {' or '.join(waits)}, and none of these looks at the new cause; go "
                    "back and tie the cause to a result of one, or choose another repair, or type new"
                )

        found = yield from self.asker.entry(
            "mended", "Which repair ends it?", ["actions"], new="a repair that the book does not have", check=check,
            help="The repair is proposed once the cause is likely enough, and proved by the check of the squawk.",
        )  # fmt: skip
        if found != NEW:
            # It is proposed after the new check too from now on: else the cause would be found and never repaired.
            self.waits = (found,) if self.ground.waits_for(found, places, seen) else ()
            return found
        new = [Named(name, f"The new check: {data['name']}") for name, data in entries.get("checks", {}).items()]
        name, data = yield from an_action(self.asker, new)
        entries["actions"] = {name: data}
        return name


class _Check(_Interview):
    """A check of things that the book has."""

    def draft(self) -> Asking[Draft]:
        name, data = yield from a_check(self.asker, None)
        symptoms = yield from self.asker.entries(
            "brings", "On which squawk does it help?", ["symptoms"], least=1,
            help="The regression case reports it, and what the check would do is told for it.",
        )  # fmt: skip
        answer = f"{name}={next(iter(data['outcomes']))}"
        case, case_data = yield from asks_for_case(self.asker, name, data["name"], symptoms, "", answer)
        return Draft(self.ground.family, "check", name, {"checks": {name: data}}, (), case, case_data)


class _Symptom(_Interview):
    """A squawk that things of the book bring about."""

    def draft(self) -> Asking[Draft]:
        asker = self.asker
        name = yield from asker.words(
            "name",
            "The squawk in the words of the trade?",
            "Such as: Horn silent.",
            help="Its name in lists and records.",
        )
        made = yield from asker.new_id("name.id", "symptoms", name)
        data: Data = {"name": name, "says": (yield from self._says())}
        when = yield from asker.entries(
            "when", "What brings it about?", ["faults", "events", TAPS], "Causes, events, points of a circuit.",
            least=1,
            help="Any of them alone is enough. What needs two at once is an event of its own; write it by hand.",
        )  # fmt: skip
        data["when"] = when[0] if len(when) == 1 else {"any_of": list(when)}
        usual = f"{100 * self.ground.book.defaults.unlisted:g} %"
        share = yield from asker.number(
            "unlisted", "How often has such a squawk a cause that is not among these?",
            partial(answers.probability, below_one=True), "As 5 % or 0.05.", default=usual,
            help="The part of the ranking that says: something that this book does not list.",
        )  # fmt: skip
        if share != self.ground.book.defaults.unlisted:
            data |= {"unlisted": share, "basis": (yield from asker.basis("unlisted.basis"))}
        advice = yield from asker.words(
            "advice", "What is the pilot told?", optional=True, help="Until the gear was looked at. Never a limit."
        )
        data |= {"pilot_advice": [advice]} if advice else {}
        case, case_data = yield from asks_for_case(asker, made, name, (made,), "", "")
        return Draft(self.ground.family, "symptom", made, {"symptoms": {made: data}}, (), case, case_data)

    def _says(self) -> Asking[list[str]]:
        said: list[str] = []

        def take(typed: str) -> str:
            if not typed.strip() and len(said) >= ENOUGH_SAYS:
                return ""
            words = answers.text(typed)
            if words.casefold() in [one.casefold() for one in said]:
                raise BadAnswer("that is there already; put it in other words")
            return words

        while len(said) < MOST_SAYS:
            enough = len(said) >= ENOUGH_SAYS
            more = "Enter ends the list." if enough else f"{ENOUGH_SAYS} ways at least, better eight."
            question = Question(
                f"says.{len(said) + 1}", f"How do pilots put it? Way {len(said) + 1}", (more,),
                "A pilot's words are compared with these: misspelt, short, as they come.",
                default="" if enough else None, default_words="enough" if enough else "", take=take,
            )  # fmt: skip
            words = yield from self.asker.ask(question)
            if not words:
                break
            said.append(words)
        return said


def _ata(typed: str) -> str:
    if typed.strip() and not _ATA.fullmatch(typed.strip()):
        raise BadAnswer(f"{typed.strip()!r} is no sub-chapter; write it as 32-60, or leave it out")
    return typed.strip()
