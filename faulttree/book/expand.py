"""Sound entries to the frozen book: legs and options worked in, defaults filled in, names resolved.

Nothing here refuses anything that was reported before; what is unknown or broken is left out, so that the
rules of form can still look at the rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from faulttree.book import model as m
from faulttree.book import written as w
from faulttree.book.copies import Copies
from faulttree.book.fitted import Fitting, options
from faulttree.book.forms import BasisForm
from faulttree.book.gates import WHEN, Events, Spot
from faulttree.book.items import Item, Written
from faulttree.book.legs import leg_name, leg_text, with_leg
from faulttree.book.names import Names
from faulttree.book.positions import Problem
from faulttree.book.rings import in_order

Matrix = tuple[tuple[float, ...], ...]


@dataclass(slots=True)
class Draft:
    """A book in the making and what the rules of form want to know about it.

    ``origin`` gives the written entry of each section and expanded id.
    """

    written: Written
    names: Names
    fitting: Fitting
    book: m.Book
    events: Events
    origin: Mapping[tuple[str, str], Item[Any]]
    problems: list[Problem]


def basis(form: BasisForm | None) -> m.Basis:
    """The basis as loaded; ``estimate`` where none is given (whether one must be is a rule of form)."""
    return m.Basis("estimate") if form is None else m.Basis(form.kind, form.source, form.where, form.note)


def defaults(written: Written) -> m.Defaults:
    """The figures of the section ``defaults``."""
    return m.Defaults(**{name: item.form.value for name, item in written.defaults.items()})


def expand(written: Written, names: Names, fitting: Fitting, family: str, digest: str, copies: Copies) -> Draft:
    """The book for one aircraft's options, sound or not; ``copies`` are what was made at others before."""
    events = Events(written, names, fitting, copies)
    events.build_all()
    expansion = _Expansion(written, names, events, defaults(written))
    faults, symptoms = expansion.faults(), expansion.symptoms()
    checks, actions = expansion.checks(), expansion.actions(faults)
    about = written.family.get("family")
    whole = written.book.get("book")
    book = m.Book(
        family=family,
        name=about.form.name if about else family,
        version=whole.form.version if whole else "",
        digest=digest,
        fitted=fitting.chosen,
        assumed=fitting.assumed,
        options=options(written),
        components=expansion.components(),
        faults=faults,
        events=_sorted_events(events.events, faults),
        symptoms=symptoms,
        checks=checks,
        actions=actions,
        conditions=expansion.conditions(),
        cautions={c.id: m.Caution(c.id, c.form.level, c.form.text) for c in written.cautions.values()},
        circumstances={c.id: _circumstance(c) for c in written.circumstances.values()},
        limits={c.id: _limit(c) for c in written.limits.values()},
        equipment=dict(written.equipment),
        words=dict(written.words),
        sources={c.id: _source(c) for c in written.sources.values()},
        opening=tuple(expansion.opening()),
        standing_cautions=tuple(whole.form.standing_cautions) if whole else (),
        defaults=expansion.defaults,
    )
    problems = [*events.problems, *expansion.problems]
    return Draft(written, names, fitting, book, events, expansion.origin, problems)


def _sorted_events(events: dict[str, m.Event], faults: Mapping[str, m.Fault]) -> dict[str, m.Event]:
    """Events in an order in which each comes after what it looks at; as they are if there is a ring."""
    order = in_order({name: [of for of in event.of if of in events] for name, event in events.items()})
    return {name: events[name] for name in order} if order is not None else events


def _circumstance(item: Item[w.CircumstanceForm]) -> m.Circumstance:
    form = item.form
    return m.Circumstance(
        item.id,
        form.name,
        form.ask,
        promotes=_pair(form.promotes),
        demotes=_pair(form.demotes),
        intermittent=_pair(form.intermittent_faults),
        steady=1.0 if form.steady_faults is None else form.steady_faults,
        basis=basis(form.basis),
    )


def _pair(factors: list[float] | None) -> tuple[float, float]:
    return (1.0, 1.0) if factors is None else (factors[0], factors[1])


def _limit(item: Item[w.LimitForm]) -> m.Limit:
    form = item.form
    said = None if form.basis is None else basis(form.basis)
    return m.Limit(item.id, form.name, form.unit, form.where, form.typical, said)


def _source(item: Item[w.SourceForm]) -> m.Source:
    return m.Source(item.id, item.form.title, item.form.publisher, item.form.edition, item.form.seen)


@dataclass(slots=True)
class _Expansion:
    """Makes the entries of one book. Each method gives one section."""

    written: Written
    names: Names
    events: Events
    defaults: m.Defaults
    origin: dict[tuple[str, str], Item[Any]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def _here(self, section: str) -> list[Any]:
        """The entries of a section that apply."""
        return [item for item in self.written.ids(section).values() if self.events.present(section, item.id)]

    def _came_from(self, item: Item[Any], expanded: str) -> str:
        self.origin[item.section, expanded] = item
        return expanded

    def _copies(self, section: str) -> Iterable[tuple[Any, str | None, str]]:
        """The entries of a section that apply, with each of their legs (or ``None`` alone) and the id of its copy."""
        for item in self._here(section):
            for leg in self.names.legs.of(section, item.id) or (None,):
                yield item, leg, self._came_from(item, with_leg(item.id, leg))

    def _kept(self, section: str, names: Sequence[str], leg: str | None = None) -> tuple[str, ...]:
        """The ids that a list of names means in a copy for ``leg``; what does not apply drops out."""
        if not names:
            return ()
        found: list[str] = []
        for name in names:
            named = self.names.find(section, name)
            if named is None or not self.events.present(section, named.id):
                continue
            picked = named.leg or leg
            legs = [each for each in named.legs if picked in (None, each)]
            found.extend([with_leg(named.id, each) for each in legs] if named.legs else [name])
        return tuple(dict.fromkeys(found))

    def _cautions(self, names: Iterable[str]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(name for name in names if name in self.written.cautions))

    def _equipment(self, names: Iterable[str]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(name for name in names if name in self.written.equipment))

    def components(self) -> dict[str, m.Component]:
        """Components, legs and all as one."""
        found = {}
        for item in self._here("components"):
            form = item.form
            found[self._came_from(item, item.id)] = m.Component(
                item.id,
                leg_text(form.name, None),
                form.ata,
                tuple(form.also_called),
                dict(form.legs or {}),
                self._cautions(form.cautions),
            )
        return found

    def faults(self) -> dict[str, m.Fault]:
        """Faults, one per leg, the rate shared out."""
        found = {}
        for item, leg, fault_id in self._copies("faults"):
            component = self.written.components[item.id.split(".", 1)[0]]
            make = partial(self._fault, item, component, leg, fault_id)
            found[fault_id] = self.events.copy(("faults", fault_id), make)
        return found

    def _fault(
        self, item: Item[w.FaultForm], component: Item[w.ComponentForm], leg: str | None, fault_id: str
    ) -> m.Fault:
        form = item.form
        shares: Mapping[str, float] = {str(name): share for name, share in (component.form.legs or {}).items()}
        part = 1.0 if leg is None else shares[leg]
        sleeps = form.intermittent
        return m.Fault(
            fault_id,
            component.id,
            leg,
            f"{leg_name(component.form.name, leg)}: {leg_text(form.name, leg)}",
            rate=None if form.rate is None else form.rate * part,
            probability=None if form.probability is None else form.probability * part,
            share=sleeps.share if sleeps else 0.0,
            shows=sleeps.shows if sleeps else 1.0,
            promoted_by=self._kept("circumstances", form.promoted_by),
            demoted_by=self._kept("circumstances", form.demoted_by),
            corrected_by=self._kept("actions", form.corrected_by, leg),
            basis=basis(form.basis),
        )

    def symptoms(self) -> dict[str, m.Symptom]:
        """Symptoms, each looking at one event."""
        family = self.written.family.get("family")
        found = {}
        for item in self._here("symptoms"):
            form: w.SymptomForm = item.form
            proof = form.proof or (family.form.proof if family else "")
            where = item.spots.value("proof") if form.proof else family.spots.value("proof") if family else None
            more = self.written.sayings.get(item.id)
            found[self._came_from(item, item.id)] = m.Symptom(
                item.id,
                form.name,
                # The symptom's own phrases first, then what is said of it whatever the family.
                tuple(dict.fromkeys([*form.says, *(more.form.says if more else ())])),
                self.events.one(Spot(item, None, item.id + WHEN, form.name), form.when, ("when",)),
                self.defaults.unlisted if form.unlisted is None else form.unlisted,
                self.defaults.noticed if form.noticed is None else form.noticed,
                self._proof(proof, where),
                tuple(form.pilot_advice),
                self._cautions(form.cautions),
                *((tuple(more.form.denied_by), tuple(more.form.speaks_of), tuple(more.form.not_of)) if more else ()),
            )
        return found

    def _proof(self, name: str, where: Any) -> str:
        found = self._kept("checks", [name])
        known = self.names.find("checks", name) is not None or self.names.is_gone("checks", name)
        if where is not None and known and len(found) != 1:
            what = f"the proof `{name}` has {'several legs' if found else 'no part in this aircraft'}"
            self.problems.append(Problem(where, what, "name one check that every such aircraft has", "proof"))
        return found[0] if found else name

    def checks(self) -> dict[str, m.Check]:
        """Checks, one per leg where each leg has one."""
        return {
            check_id: self.events.copy(("checks", check_id), partial(self._check, item, leg, check_id))
            for item, leg, check_id in self._copies("checks")
        }

    def _check(self, item: Item[w.CheckForm], leg: str | None, check_id: str) -> m.Check:
        form = item.form
        matrix = _matrix(form)
        sound = form.false_alarm or 0.0
        if matrix and matrix[-1]:
            sound = 1.0 - matrix[-1][-1]
        return m.Check(
            id=check_id,
            name=leg_name(form.name, leg),
            kind=form.kind,
            about=form.about or ("squawk" if form.kind == "ask" else "now"),
            outcomes=self._outcomes(item, leg, check_id, matrix, sound),
            false_alarm=sound,
            minutes=form.minutes,
            ask=None if form.ask is None else leg_text(form.ask, leg),
            how=tuple(leg_text(step, leg) for step in form.how),
            healthy=None if form.healthy is None else leg_text(form.healthy, leg),
            needs=self._kept("conditions", form.needs),
            after=self._kept("checks", form.after, leg),
            covers=self._kept("checks", form.covers, leg),
            only_with=self._kept("symptoms", form.only_with),
            near=tuple(name for name in form.near if self.events.present("components", name)),
            waits=form.waits,
            people=form.people,
            equipment=self._equipment(form.equipment),
            cautions=self._cautions(form.cautions),
            matrix=matrix,
            wakes=form.wakes,
            fresh=self.defaults.fresh if form.fresh is None else form.fresh,
            reading=_reading(form.reading),
            proof=form.proof,
            proposed=form.proposed,
            leg=leg,
            basis=basis(form.basis),
        )

    def _outcomes(
        self, item: Item[w.CheckForm], leg: str | None, check_id: str, matrix: Matrix | None, sound: float
    ) -> tuple[m.Outcome, ...]:
        found = []
        for index, (name, form) in enumerate(item.form.outcomes.items()):
            label = leg_text(form.label, leg)
            when: str | None = None
            if form.when == m.THE_SQUAWK:
                when = m.THE_SQUAWK
            elif form.when is not None:
                spot = Spot(item, leg, f"{check_id}/{name}", f"{leg_name(item.form.name, leg)}: {label}")
                when = self.events.one(spot, form.when, ("outcomes", name, "when"))
            detects = form.detects if form.detects is not None else item.form.detects
            if when is None or detects is None:
                detects = 1.0 - sound
            if matrix and index < len(matrix) and index < len(matrix[index]):
                detects = matrix[index][index]
            bars, until = self._kept("conditions", form.bars), self._kept("checks", form.until, leg)
            needless = self._kept("checks", form.needless, leg)
            found.append(m.Outcome(name, label, when, detects, bars, until, needless))
        return tuple(found)

    def actions(self, faults: Mapping[str, m.Fault]) -> dict[str, m.Action]:
        """Actions, with the faults that name them."""
        corrects: dict[str, list[str]] = {}
        for fault in faults.values():
            for action in fault.corrected_by:
                corrects.setdefault(action, []).append(fault.id)
        found = {}
        for item, leg, action_id in self._copies("actions"):
            mends = tuple(corrects.get(action_id, ()))
            make = partial(self._action, item, leg, action_id, mends)
            found[action_id] = self.events.copy(("actions", action_id, mends), make)
        return found

    def _action(self, item: Item[w.ActionForm], leg: str | None, action_id: str, corrects: tuple[str, ...]) -> m.Action:
        form = item.form
        return m.Action(
            id=action_id,
            name=leg_name(form.name, leg),
            corrects=corrects,
            effective=self.defaults.effective if form.effective is None else form.effective,
            minutes=form.minutes,
            how=tuple(leg_text(step, leg) for step in form.how),
            needs=self._kept("conditions", form.needs),
            waits=form.waits,
            people=form.people,
            equipment=self._equipment(form.equipment),
            parts=tuple(leg_text(part, leg) for part in form.parts),
            who=None if form.who is None else leg_text(form.who, leg),
            cautions=self._cautions(form.cautions),
            follow_up=self._kept("checks", form.follow_up, leg),
            after_any=self._kept("checks", form.after_any, leg),
            once=form.once,
            leg=leg,
            basis=basis(form.basis),
        )

    def conditions(self) -> dict[str, m.Condition]:
        """Conditions that the aircraft can have."""
        found = {}
        for item in self._here("conditions"):
            form = item.form
            found[self._came_from(item, item.id)] = m.Condition(
                id=item.id,
                name=form.name,
                set_up=form.set_up.words,
                restore=form.restore.words,
                set_up_minutes=form.set_up.minutes,
                restore_minutes=form.restore.minutes,
                restore_name=form.restore.name or "",
                implies=self._kept("conditions", form.implies),
                excludes=self._kept("conditions", form.excludes),
                not_while=self._kept("conditions", form.not_while),
                kept_to_last=form.kept_to_last,
                hazard=form.hazard,
                proposed=form.proposed,
                waits=form.waits,
                people=form.people,
                equipment=self._equipment(form.equipment),
                cautions=self._cautions(form.cautions),
                basis=basis(form.basis),
            )
        return found

    def opening(self) -> Iterable[m.OpeningQuestion]:
        """Opening questions in the order of the files."""
        for item in self.written.opening.values():
            answers = tuple(
                m.OpeningAnswer(
                    name,
                    answer.label,
                    self._cautions(answer.cautions),
                    answer.says,
                    self._kept("conditions", answer.first),
                )
                for name, answer in item.form.answers.items()
            )
            yield m.OpeningQuestion(self._came_from(item, item.id), item.form.ask, answers)


def _matrix(form: w.CheckForm) -> Matrix | None:
    """The matrix by shown outcome, in the order of the outcomes; rows missing or odd are left as they are."""
    if form.matrix is None:
        return None
    return tuple(tuple(form.matrix.get(name, ())) for name in form.outcomes)


def _reading(form: w.ReadingForm | None) -> m.Reading | None:
    if form is None:
        return None
    return m.Reading(form.quantity, form.unit, form.error, form.limit, form.below, form.above)
