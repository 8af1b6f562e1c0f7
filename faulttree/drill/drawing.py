"""What a drill hides and what it tells at the outset, drawn from the book's own belief by the seed.

Which faults stand is drawn from belief's own sets, by their weight given the squawk: a cause is hidden as often as the
book takes it to be there. A level leaves some sets out; ``AS_IT_COMES`` leaves none out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from faulttree.belief import Belief, Believer, Did, Entry, Evidence, Reported
from faulttree.book.drills import Practice, Scenario
from faulttree.book.model import Book, OpeningAnswer, OpeningQuestion
from faulttree.drill.chance import Stream
from faulttree.drill.gear import Awake, Gear, Hidden, Modes, true_outcome
from faulttree.drill.pilot import Pilot
from faulttree.errors import FaulttreeError

AS_IT_COMES, HARD, COMES_AND_GOES, HARDER = 0, 1, 2, 3
LEVELS = {
    HARD: "one fault, always there",
    COMES_AND_GOES: "one fault that comes and goes, or looks like a likelier one",
    HARDER: "two faults, or an earlier repair that was wrong, and a pilot with an opinion",
    AS_IT_COMES: "whatever the book thinks possible, a cause that it does not know included",
}
"""Levels and what they hide."""

WITH_CIRCUMSTANCE, WITH_OPINION, DEMANDING = 0.5, 0.3, 0.15
"""Shares of drills in which something surrounds the squawk, in which the pilot of a drill of the second level has an
opinion, and in which an opening question has an answer that nobody can vouch for, from the second level on."""

AT_ONCE = 2
"""Faults that stand at once in a drill; three at once have no weight to speak of."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for. No symptom: any, or one ``among`` these."""

    level: int
    seed: int
    symptom: str | None = None
    among: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Setting:
    """A drill before its first act: what is told, and what is hidden.

    ``earlier`` is a repair that somebody else did since the squawk, and after which it came again. ``opinion`` is what
    the pilot takes to be the cause, a component. ``kind`` says in a word what makes it hard. ``hours`` None: as usual.
    """

    seed: int
    level: int
    symptoms: tuple[str, ...]
    hidden: Hidden
    kind: str
    words: str = ""
    circumstances: tuple[str, ...] = ()
    hours: float | None = None
    earlier: str | None = None
    opinion: str | None = None
    opening: Mapping[str, str] = field(default_factory=dict)
    scenario: str = ""

    @property
    def plain(self) -> bool:
        """Whether looks and pilot never err: who begins, and what somebody wrote, is not misled by chance."""
        return self.level == HARD or bool(self.scenario)

    @property
    def told(self) -> tuple[Entry, ...]:
        """What belief knows at the outset."""
        reported: tuple[Entry, ...] = tuple(Reported(symptom) for symptom in self.symptoms)
        return (*reported, Did(self.earlier), *reported) if self.earlier else reported

    def evidence(self, more: Sequence[Entry] = ()) -> Evidence:
        """What belief is worked out from: what is told, then what was found."""
        return Evidence((*self.told, *more), self.circumstances, self.hours)


@dataclass(frozen=True, slots=True)
class Sets:
    """Sets of faults that may stand, as they were and as they stand now, with their weights."""

    was: tuple[Modes, ...]
    now: tuple[Modes, ...]
    weights: tuple[float, ...]

    def only(self, keep: Callable[[Modes], bool]) -> Sets:
        """Those whose faults standing now are wanted."""
        places = [i for i, modes in enumerate(self.now) if keep(modes)]
        was, now = (tuple(part[i] for i in places) for part in (self.was, self.now))
        return Sets(was, now, tuple(self.weights[i] for i in places))


def sets_of(belief: Belief) -> Sets:
    """The sets of a belief. Those that weigh nothing are left out."""
    replay, space = belief.replay, belief.replay.frame.space
    kept = np.flatnonzero(belief.rows > 0.0)
    base = replay.frame.base.padded()[replay.base[kept]]

    def modes(row: np.ndarray) -> Modes:
        there = [int(m) for m in row if m >= 0]
        named = [(space.faults[space.mode_fault[m]], bool(space.sleeps[m])) for m in there]
        return Modes(frozenset(f for f, sleeps in named if not sleeps), frozenset(f for f, sleeps in named if sleeps))

    was = tuple(modes(row) for row in base)
    now = was if not replay.acted else tuple(modes(row) for row in replay.modes[kept])
    return Sets(was, now, tuple(float(weight) for weight in belief.rows[kept]))


class Drawing:
    """Draws drills from one book. What it keeps between calls is a cache."""

    def __init__(self, book: Book, believer: Believer | None = None, practice: Practice | None = None) -> None:
        self.book, self.practice = book, practice or Practice()
        self.believer = believer or Believer(book, AT_ONCE)
        self._sets: dict[Evidence, Sets] = {}
        self._stories: dict[str, tuple[int, ...]] = {}

    def fixed(self, scenario: Scenario, seed: int) -> Setting:
        """A drill that somebody has written; the seed decides what checks show, and what is left open."""
        faults = Modes(frozenset(scenario.hard), frozenset(scenario.sleeping))
        setting = Setting(
            seed, scenario.level, scenario.symptoms, Hidden(faults, faults), scenario.name, scenario.words,
            scenario.circumstances, scenario.hours, scenario.earlier, scenario.opinion, scenario.opening, scenario.id,
        )  # fmt: skip
        return self.complete(setting)

    def draw(self, wanted: Wanted) -> Setting:
        """A drill. Raises FaulttreeError where the book has nothing of that level below the symptom."""
        if wanted.symptom is not None:
            if not self.can_be(wanted.symptom, wanted.level):
                named = self.book.symptoms[wanted.symptom].name
                raise FaulttreeError(f"nothing below {named!r} makes a drill of level {wanted.level}; try another")
            return self._draw(wanted, wanted.symptom)
        left = list(wanted.among or self.book.symptoms)
        while left:
            name = left.pop(Stream(wanted.seed, "symptom", len(left)).below(len(left)))
            if self.can_be(name, wanted.level):
                return self._draw(wanted, name)
        raise FaulttreeError(f"nothing in this book makes a drill of level {wanted.level}")

    def can_be(self, symptom: str, level: int) -> bool:
        """Whether there is anything of this level below a symptom."""
        sets = self.sets(Evidence((Reported(symptom),)))
        singles = sets.only(_hard_alone)
        if level == HARD:
            return bool(singles.now)
        if level == COMES_AND_GOES:
            return any(map(_sleeping_alone, sets.now)) or bool(self._alike(singles).now)
        return bool(sets.now) and (level != HARDER or any(len(m.all) > 1 for m in sets.now))

    def sets(self, evidence: Evidence) -> Sets:
        """The sets that may stand by what is told."""
        if evidence not in self._sets:
            self._sets[evidence] = sets_of(self.believer.believe(evidence))
        return self._sets[evidence]

    def another(self, setting: Setting) -> Callable[[Stream], Modes]:
        """Draws the faults of another gear with the same squawk."""
        reported = tuple(Reported(symptom) for symptom in setting.symptoms)
        sets = self.sets(Evidence(reported, setting.circumstances, setting.hours))
        return lambda stream: sets.was[stream.place(sets.weights)]

    def complete(self, setting: Setting) -> Setting:
        """A setting with what it leaves open: the pilot's words, the answers to the opening questions."""
        opening = {q.id: setting.opening.get(q.id) or self._answer(setting, q).id for q in self.book.opening}
        answered = replace(setting, opening=opening)
        return replace(answered, words=setting.words or self.pilot(answered).words(setting.seed, setting.symptoms))

    def gear(self, setting: Setting) -> Gear:
        """The gear of a drill, as it is before anybody looked at it."""
        another = self.another(setting)
        return Gear(self.book, setting.seed, setting.symptoms, setting.hidden, another, setting.plain)

    def pilot(self, setting: Setting) -> Pilot:
        """The pilot of a drill of which the opening is answered."""
        return Pilot(self.practice, self.gear(setting), setting.opening)

    # -- drawing ---------------------------------------------------------------------------------------

    def _draw(self, wanted: Wanted, symptom: str) -> Setting:
        stream = Stream(wanted.seed, "hidden", symptom, wanted.level)
        told: tuple[str, ...] = self._circumstances(stream, wanted.level)
        evidence = Evidence((Reported(symptom),), told)
        kind, earlier, hidden = self._hide(stream, wanted.level, evidence)
        opinion = self._opinion(stream, wanted.level, evidence, hidden)
        setting = Setting(
            wanted.seed, wanted.level, (symptom,), hidden, kind, circumstances=told, earlier=earlier, opinion=opinion
        )
        return self.complete(setting)

    def _circumstances(self, stream: Stream, level: int) -> tuple[str, ...]:
        if not stream.happens(WITH_CIRCUMSTANCE):
            return ()
        listed = [c for c in self.book.circumstances.values() if level != HARD or c.intermittent == (1.0, 1.0)]
        return (listed[stream.below(len(listed))].id,) if listed else ()

    def _hide(self, stream: Stream, level: int, evidence: Evidence) -> tuple[str, str | None, Hidden]:
        """What makes it hard, the earlier repair, what is hidden."""
        sets = self.sets(evidence)
        if level == AS_IT_COMES:
            return "as it comes", None, self._anything(stream, evidence)
        if level == HARD:
            return "one fault, always there", None, _one_of(stream, sets.only(_hard_alone))
        if level == COMES_AND_GOES:
            sleeping, alike = sets.only(_sleeping_alone), self._alike(sets.only(_hard_alone))
            if sleeping.now and (not alike.now or stream.happens(0.5)):
                return "comes and goes", None, _one_of(stream, sleeping)
            hidden, singles = _one_of(stream, alike), sets.only(_hard_alone)
            return f"looks like a likelier one: {self._likelier(singles, hidden)}", None, hidden
        if stream.happens(0.5):
            found = self._after_a_repair(stream, evidence)
            if found is not None:
                return "an earlier repair was wrong", *found
        return "two faults", None, _one_of(stream, sets.only(lambda modes: len(modes.all) > 1))

    def _anything(self, stream: Stream, evidence: Evidence) -> Hidden:
        """Whatever belief takes to be possible; faults that have no part in the squawk by their priors."""
        belief = self.believer.believe(evidence)
        if stream.happens(belief.unlisted):
            return Hidden(Modes(), Modes(), unlisted=True)
        sets, priors = self.sets(evidence), self.believer.priors(evidence)
        drawn = sets.was[stream.place(sets.weights)]
        hard, sleeping = set(drawn.hard), set(drawn.sleeping)
        for fault in self.book.faults:
            if fault not in belief.replay.frame.space.place:
                ball, prior = stream.share(), priors[fault]
                if ball < prior.hard:
                    hard.add(fault)
                elif ball < prior.hard + prior.comes_and_goes:
                    sleeping.add(fault)
        modes = Modes(frozenset(hard), frozenset(sleeping))
        return Hidden(modes, modes)

    def _after_a_repair(self, stream: Stream, evidence: Evidence) -> tuple[str, Hidden] | None:
        """A repair that somebody did for the likely cause and that mended none of what stands; then what stands."""
        faults = self.believer.believe(evidence).faults
        likely = {
            action.id: sum(faults[f].probability for f in action.corrects)
            for action in self.book.actions.values() if action.parts and not action.once
        }  # fmt: skip
        if not sum(likely.values()) > 0:
            return None
        names = list(likely)
        earlier = names[stream.place([likely[name] for name in names])]
        corrected = frozenset(self.book.actions[earlier].corrects)
        after = Evidence((*evidence.entries, Did(earlier), *evidence.entries), evidence.circumstances)
        sets = self.sets(after).only(lambda modes: bool(modes.all) and modes.all.isdisjoint(corrected))
        return (earlier, _one_of(stream, sets)) if sets.now else None

    def _alike(self, singles: Sets) -> Sets:
        """Single hard faults of which the pilot tells the same story as of a likelier one of another part."""
        weight = {next(iter(modes.hard)): w for modes, w in zip(singles.now, singles.weights, strict=True)}
        part = {fault: self.book.faults[fault].component for fault in weight}

        def hides(modes: Modes) -> bool:
            (fault,) = modes.hard
            return any(
                weight[other] > weight[fault] and part[other] != part[fault]
                and self._story(other) == self._story(fault)
                for other in weight
            )  # fmt: skip

        return singles.only(hides)

    def _likelier(self, singles: Sets, hidden: Hidden) -> str:
        """The name of the likeliest fault of another part of which the pilot would tell the same story."""
        (fault,) = hidden.now.hard
        faults, part = self.book.faults, self.book.faults[fault].component
        others = [(w, next(iter(modes.hard))) for modes, w in zip(singles.now, singles.weights, strict=True)]
        same = [(w, f) for w, f in others if faults[f].component != part and self._story(f) == self._story(fault)]
        return faults[max(same)[1]].name

    def _story(self, fault: str) -> tuple[int, ...]:
        """What the pilot would truly answer to every question, if this were the fault."""
        if fault not in self._stories:
            questions = [c for c in self.book.checks.values() if c.kind == "ask" and c.about == "squawk"]
            awake = Awake(self.book, frozenset([fault]))
            self._stories[fault] = tuple(true_outcome(check, awake) for check in questions)
        return self._stories[fault]

    def _opinion(self, stream: Stream, level: int, evidence: Evidence, hidden: Hidden) -> str | None:
        """The likeliest part that is not to blame, where the pilot has an opinion at all."""
        if level < COMES_AND_GOES or (level == COMES_AND_GOES and not stream.happens(WITH_OPINION)):
            return None
        blamed = {self.book.faults[fault].component for fault in hidden.now.all}
        listed = self.believer.believe(evidence).components
        others = sorted((name for name in listed if name not in blamed), key=lambda name: (-listed[name], name))
        return others[0] if others else None

    def _answer(self, setting: Setting, question: OpeningQuestion) -> OpeningAnswer:
        """What is answered before anything is touched: what goes with the squawk, else mostly what asks for nothing."""
        by_id = {answer.id: answer for answer in question.answers}
        for symptom in setting.symptoms:
            told = self.practice.answers.get(symptom, {}).get(question.id)
            if told in by_id:
                return by_id[told]
        stream = Stream(setting.seed, "opening", question.id)
        demanding = [answer for answer in question.answers if answer.first]
        if setting.level >= COMES_AND_GOES and demanding and stream.happens(DEMANDING):
            return demanding[-1]
        return next((answer for answer in question.answers if not answer.first), question.answers[0])


def _hard_alone(modes: Modes) -> bool:
    return len(modes.hard) == 1 and not modes.sleeping


def _sleeping_alone(modes: Modes) -> bool:
    return len(modes.sleeping) == 1 and not modes.hard


def _one_of(stream: Stream, sets: Sets) -> Hidden:
    place = stream.place(sets.weights)
    return Hidden(sets.was[place], sets.now[place])
