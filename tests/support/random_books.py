"""Small books and cases drawn at random, for tests that compare two ways of working out the same thing.

Everything is drawn from the ``random.Random`` that is passed in, so a seed gives the same book again and a
hypothesis test can pass one that shrinks. A case is a story: some faults are put into the gear, and most of
the answers are drawn from what these would show, so that it rarely contradicts itself.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from random import Random

from faulttree.belief import Answer, Denied, Did, Entry, Evidence, Found, Reported, measured, plain, unsure
from faulttree.book.model import (
    THE_SQUAWK,
    Action,
    Book,
    Check,
    Circumstance,
    Event,
    Fault,
    Outcome,
    Reading,
    Symptom,
)
from tests.support.books import make_book, symptom

CIRCUMSTANCES = {
    "wet": Circumstance("wet", "Wet", "", promotes=(3.0, 5.0)),
    "dry": Circumstance("dry", "Dry", "", demotes=(0.3, 0.2)),
    "comes-and-goes": Circumstance("comes-and-goes", "Comes and goes", "", intermittent=(0.3, 5.0), steady=0.3),
    "soaked": Circumstance("soaked", "Soaked", "", promotes=(6.0, 6.0), demotes=(0.2, 0.2)),
}


def a_check(
    name: str, when: str | Sequence[str], detects: float | Sequence[float], false_alarm: float, **more: object
) -> Check:
    """A check with one outcome ``o0``, ``o1`` … per event, then ``fine``; about the gear as it is now."""
    events = [when] if isinstance(when, str) else list(when)
    hits = [detects] * len(events) if isinstance(detects, float) else list(detects)
    outcomes = [Outcome(f"o{n}", f"o{n}", event, hit) for n, (event, hit) in enumerate(zip(events, hits, strict=True))]
    fields: dict[str, object] = {"kind": "look", "about": "now"}
    fields.update(more)
    return Check(  # the rest is passed on as it came
        name,
        name,
        outcomes=(*outcomes, Outcome("fine", "fine", None, 1.0)),
        false_alarm=false_alarm,
        minutes=1.0,
        **fields,  # type: ignore[arg-type] # passed on
    )


# ------------------------------------------------------------------------------------------------- random books


def random_book(rng: Random, faults: int = 6, often: float = 0.02) -> Book:
    """A book with every feature that belief knows. ``often`` is a usual prior of a fault at 25 hours.

    Up to 0.06 the priors of the two modes of a fault stay below one together, whatever the circumstances.
    """
    names = [f"f{n}" for n in range(faults)]
    fault_list = [_fault(rng, name, often) for name in names]
    events: list[Event] = []
    for n in range(rng.randint(4, 7)):
        events.append(_event(rng, f"e{n}", names, [e.id for e in events]))
    rising = [e.id for e in events if e.gate != "not"]
    symptoms = _symptoms(rng, names, events, rising)
    things = names + [e.id for e in events]
    checks = [_check(rng, f"c{n}", things) for n in range(5)]
    checks.append(_question(rng, "asked", things))
    checks.append(_measured_check(rng, "gauged", things))
    checks.append(_proof(rng, things))
    actions = [_action(rng, f"a{n}", names) for n in range(3)]
    return make_book(fault_list, events, symptoms, checks, actions, circumstances=CIRCUMSTANCES.values())


def _fault(rng: Random, name: str, often: float) -> Fault:
    size = often * rng.uniform(0.3, 2.0)
    share = rng.choice([0.0, 0.0, 0.35, 0.7, 1.0])
    around = rng.sample(list(CIRCUMSTANCES), 2)
    plain_one = rng.random() < 0.3
    return Fault(
        name,
        f"part-{rng.choice('abc')}",
        None,
        name,
        rate=None if plain_one else size * 40.0,
        probability=min(size, 0.6) if plain_one else None,
        share=share,
        shows=rng.choice([0.3, 0.4, 0.8]) if share else 1.0,
        promoted_by=tuple(around[: rng.randint(0, 2)]),
        demoted_by=tuple(rng.sample(list(CIRCUMSTANCES), rng.randint(0, 1))),
    )


def _event(rng: Random, name: str, faults: Sequence[str], events: Sequence[str]) -> Event:
    things = [*faults, *events]
    gate = rng.choice(["any_of", "any_of", "any_of", "all_of", "at_least", "not"])
    size = {"any_of": rng.randint(2, 3), "all_of": 2, "at_least": 3, "not": rng.randint(1, 2)}[gate]
    return Event(name, name, gate, tuple(rng.sample(things, size)), 2 if gate == "at_least" else 0)


def _symptoms(rng: Random, names: Sequence[str], events: list[Event], rising: Sequence[str]) -> list[Symptom]:
    """Three symptoms; the events added for them hold for a few single faults, so that each can come about."""
    symptoms = []
    for n in range(3):
        event = Event(f"top{n}", f"top{n}", "any_of", (*rng.sample(names, 2), *rng.sample(rising, min(1, len(rising)))))
        events.append(event)
        unlisted, noticed = rng.choice([0.03, 0.1, 0.25]), rng.choice([0.6, 0.9])
        symptoms.append(symptom(f"s{n}", event.id, unlisted=unlisted, noticed=noticed))
    return symptoms


def _outcomes(rng: Random, whens: Sequence[str]) -> tuple[Outcome, ...]:
    own = [Outcome(f"o{n}", f"o{n}", when, rng.choice([0.7, 0.9, 0.95, 1.0])) for n, when in enumerate(whens)]
    return (*own, Outcome("fine", "fine", None, 1.0))


def _check(rng: Random, name: str, things: Sequence[str]) -> Check:
    whens = rng.sample(things, rng.choice([1, 1, 2, 3]))
    return Check(
        name,
        name,
        rng.choice(["look", "test"]),
        "now",
        _outcomes(rng, whens),
        rng.choice([0.02, 0.05, 0.1]),
        1.0,
        matrix=_matrix(rng, len(whens) + 1) if rng.random() < 0.25 else None,
        wakes=rng.choice([0.0, 0.0, 0.5]),
        fresh=rng.choice([0.2, 0.2, 0.6]),
    )


def _matrix(rng: Random, size: int) -> tuple[tuple[float, ...], ...]:
    columns = []
    for true in range(size):
        weights = [rng.uniform(0.02, 0.2) + (2.0 if shown == true else 0.0) for shown in range(size)]
        columns.append([w / sum(weights) for w in weights])
    return tuple(tuple(column[shown] for column in columns) for shown in range(size))


def _question(rng: Random, name: str, things: Sequence[str]) -> Check:
    whens = rng.sample(things, 2)
    return Check(name, name, "ask", rng.choice(["squawk", "squawk", "now"]), _outcomes(rng, whens), 0.05, 1.0)


def _measured_check(rng: Random, name: str, things: Sequence[str]) -> Check:
    reading = Reading("voltage", "V", 0.5, "limit", "o0", "fine")
    return Check(name, name, "test", "now", _outcomes(rng, rng.sample(things, 2)), 0.05, 1.0, reading=reading)


def _proof(rng: Random, things: Sequence[str]) -> Check:
    whens = [THE_SQUAWK] if rng.random() < 0.5 else [THE_SQUAWK, rng.choice(things)]
    outcomes = _outcomes(rng, whens)
    return Check("proof", "proof", "test", "now", outcomes, 0.03, 1.0, proof=True, wakes=rng.choice([0.0, 0.3]))


def _action(rng: Random, name: str, faults: Sequence[str]) -> Action:
    return Action(name, name, tuple(rng.sample(faults, rng.randint(1, 2))), rng.choice([0.7, 0.95, 1.0]), 10.0)


def large_book(rng: Random, chains: int = 5, length: int = 9) -> Book:
    """A book of the size and the shape of a gear: circuits with taps, a few gates across them, rare faults."""
    faults: list[Fault] = []
    events: list[Event] = []
    checks: list[Check] = []
    for chain in range(chains):
        members = [f"c{chain}-{n}" for n in range(length)]
        for name in members:
            share = rng.choice([0.0, 0.0, 0.35, 0.7])
            rate = 10.0 ** rng.uniform(-1.8, -0.5)
            around = tuple(rng.sample(list(CIRCUMSTANCES), rng.randint(0, 2)))
            shows = rng.choice([0.3, 0.4]) if share else 1.0
            faults.append(Fault(name, name, None, name, rate=rate, share=share, shows=shows, promoted_by=around))
        for n in range(length):
            before = (f"tap-{chain}-{n - 1}",) if n else ()
            events.append(Event(f"tap-{chain}-{n}", "", "any_of", (*before, members[n])))
            if rng.random() < 0.6:
                checks.append(_check(rng, f"at-{chain}-{n}", [f"tap-{chain}-{n}", *rng.sample(members, 3)]))
        ends = [f"tap-{chain}-{length - 1}", f"tap-{rng.randrange(chain + 1)}-{length - 1}", members[0]]
        checks.append(_question(rng, f"asked-{chain}", ends))
        pair = rng.sample(members, 3)
        events.append(Event(f"pair-{chain}", "", "at_least", tuple(pair), 2))
    ends = [f"tap-{chain}-{length - 1}" for chain in range(chains)]
    for n in range(4):
        events.append(Event(f"top-{n}", "", "any_of", (*rng.sample(ends, 2), f"pair-{rng.randrange(chains)}")))
    symptoms = [symptom(f"s{n}", f"top-{n}", unlisted=rng.choice([0.03, 0.1])) for n in range(4)]
    names = [f.id for f in faults]
    actions = [_action(rng, f"a{n}", names) for n in range(25)]
    checks += [_measured_check(rng, "gauged", ends), _proof(rng, ends)]
    return make_book(faults, events, symptoms, checks, actions, circumstances=CIRCUMSTANCES.values())


# ------------------------------------------------------------------------------------------------- random cases


def holds(book: Book, item: str, shown: Collection[str], squawk: Sequence[str] = ()) -> bool:
    """Whether a fault, an event, a symptom or the squawk holds when exactly these faults show themselves."""
    if item in book.faults:
        return item in shown
    if item == THE_SQUAWK:
        return any(holds(book, symptom, shown) for symptom in squawk)
    if item in book.symptoms:
        return holds(book, book.symptoms[item].when, shown)
    event = book.events[item]
    count = sum(holds(book, part, shown, squawk) for part in event.of)
    wanted = {"any_of": count > 0, "all_of": count == len(event.of), "not": count == 0}
    return wanted.get(event.gate, count >= event.count)


@dataclass
class Story:
    """A gear with faults in it; ``sleeping`` are those of them that come and go."""

    book: Book
    rng: Random
    standing: set[str]
    sleeping: set[str]
    squawk: list[str]

    def __post_init__(self) -> None:
        self.was = set(self.standing)

    def reading(self, check: Check) -> int:
        """What a check shows: mostly the truth, now and then anything."""
        shown = set(self.was)
        if check.about != "squawk":
            shown = {f for f in sorted(self.standing) if f not in self.sleeping or self._awake(f)}
        if self.rng.random() < 0.08:
            return self.rng.randrange(len(check.outcomes))
        true = (n for n, o in enumerate(check.outcomes) if o.when and holds(self.book, o.when, shown, self.squawk))
        return next(true, len(check.outcomes) - 1)

    def _awake(self, fault: str) -> bool:
        return self.rng.random() < self.book.faults[fault].shows

    def answer(self, check: Check) -> Answer:
        """An answer in words, in doubt, or as a measured value."""
        shown = self.reading(check)
        if check.reading is not None and self.rng.random() < 0.7:
            side = -1.0 if check.outcomes[shown].id == check.reading.below else 1.0
            return measured(self.book, check.id, 10.0 + side * self.rng.choice([0.0, 0.3, 1.0, 3.0]), 10.0)
        form = unsure if self.rng.random() < 0.25 else plain
        return form(self.book, check.id, check.outcomes[shown].id)

    def repair(self, action: Action) -> None:
        for fault in action.corrects:
            if fault in self.standing and self.rng.random() < action.effective:
                self.standing.remove(fault)


def random_case(
    rng: Random, book: Book, steps: int = 6, hours: Sequence[float | None] = (None, None, 10.0, 50.0)
) -> Evidence:
    """Symptoms, then answers, finds and actions as they could follow one another."""
    symptom, standing = _start(rng, book)
    sleeping = {f for f in sorted(standing) if rng.random() < book.faults[f].share}
    entries: list[Entry] = [Reported(symptom)]
    for other in rng.sample(list(book.symptoms), min(2, len(book.symptoms))):
        if other != symptom and rng.random() < 0.5:
            entries.append(Reported(other) if holds(book, other, standing) else Denied(other))
    story = Story(book, rng, standing, sleeping, [symptom])
    near = _near(book, symptom, standing)
    for _ in range(steps):
        entries.append(_step(rng, book, story, near, entries))
    around = rng.sample(list(book.circumstances), min(len(book.circumstances), rng.choice([0, 0, 1, 2])))
    return Evidence(tuple(entries), tuple(around), rng.choice(hours))


def _start(rng: Random, book: Book) -> tuple[str, set[str]]:
    """A symptom and a fault that gives it, at times with a second fault."""
    faults = list(book.faults)
    symptoms = [s for s in book.symptoms if any(holds(book, s, {f}) for f in faults)]
    symptom = rng.choice(symptoms)
    causes = [f for f in faults if holds(book, symptom, {f})]
    standing = {rng.choices(causes, [_size(book.faults[f]) for f in causes])[0]}
    if rng.random() < 0.15:
        more = standing | {rng.choice(faults)}
        standing = more if holds(book, symptom, more) else standing
    return symptom, standing


def _size(fault: Fault) -> float:
    return fault.rate if fault.rate is not None else -40.0 * math.log1p(-(fault.probability or 0.0))


def _near(book: Book, symptom: str, standing: Collection[str]) -> list[Check]:
    """Checks that look at something which could give the symptom."""
    causes = {f for f in book.faults if holds(book, symptom, {f})} | set(standing)
    reach = {c.id: faults_below(book, [o.when for o in c.outcomes if o.when]) for c in book.checks.values()}
    return [c for c in book.checks.values() if c.proof or reach[c.id] & causes]


def faults_below(book: Book, items: Sequence[str]) -> set[str]:
    """Faults that an item looks at, straight or through events."""
    below: set[str] = set()
    for item in items:
        if item in book.faults:
            below.add(item)
        elif item in book.symptoms:
            below |= faults_below(book, [book.symptoms[item].when])
        elif item in book.events:
            below |= faults_below(book, book.events[item].of)
    return below


def _step(rng: Random, book: Book, story: Story, near: Sequence[Check], entries: Sequence[Entry]) -> Entry:
    since = [e for e in entries if isinstance(e, Answer)]
    kind = rng.random()
    if kind < 0.15 and since:
        return story.answer(book.checks[rng.choice(since).check])
    if kind < 0.30:
        action = _an_action(rng, book, story)
        story.repair(action)
        return Did(action.id)
    if kind < 0.35 and story.standing:
        return Found(rng.choice(sorted(story.standing)))
    if kind < 0.42 and any(isinstance(e, Did) for e in entries):
        symptom = rng.choice(list(book.symptoms))
        return Reported(symptom) if holds(book, symptom, story.standing) else Denied(symptom)
    return story.answer(rng.choice(near))


def _an_action(rng: Random, book: Book, story: Story) -> Action:
    actions = list(book.actions.values())
    right = [a for a in actions if set(a.corrects) & story.standing]
    return rng.choice(right if right and rng.random() < 0.6 else actions)
