"""What a new entry stands on: the book as it is now, its ids (retired ones too), and its entries by words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from faulttree.book.files import SourceFile, collect
from faulttree.book.legs import leg_text, with_leg, without_leg
from faulttree.book.merge import Entry, Merged, merge
from faulttree.book.model import LEGS, THE_SQUAWK, Book
from faulttree.book.positions import Position
from faulttree.book.reader import Loaded, build, load
from faulttree.book.rules.fault_reachable import below
from faulttree.book.sections import CASES, THINGS, WORDS_ALONE, a_noun
from faulttree.book.yamltext import read_yaml
from faulttree.errors import BadAnswer, FaulttreeError
from faulttree.workshop.finding import by_words
from faulttree.workshop.proposal import stated

OUTCOMES, TAPS, ANSWERS = "outcomes", "taps", "answers"
"""What can be named beside entries: an outcome with an event as ``check=outcome``, a point as ``chain@tap``, and any
outcome at all, as a case answers it, of the checks and legs that the usual options have."""


FAR = 20.0
"""A rate is doubted that is so many times what is beside it: the book's are good within a factor of two or three."""


class NotSound(FaulttreeError):
    """The book has errors already, so nothing can be tried out on it."""


@dataclass(frozen=True, slots=True)
class Named:
    """An entry of the book: its id as written, its name, further texts by which it may be looked for."""

    id: str
    name: str
    texts: tuple[str, ...] = ()


class Ground:
    """The book of a family in ``folders``, of which the overlay ``target`` (there or not yet) is to hold the entry.

    ``signed`` is what is written beside whatever of the book the entry amends: ``by`` whom, on which ``date``. Raises
    NotSound.
    """

    def __init__(
        self, folders: Sequence[Path], family: str, target: Path, signed: Mapping[str, str] | None = None
    ) -> None:
        self.folders, self.family, self.target, self.signed = tuple(folders), family, target, signed or {}
        self._files, problems = collect(self.folders, family)
        self._loaded: Loaded = load(self._files, family, problems)
        book, more = build(self._loaded, ())
        if book is None:
            told = [*self._loaded.problems, *more]
            raise NotSound(
                f"the {family} knowledge has {len(told)} error{'s' * (len(told) > 1)} already; the first is {told[0]}"
            )
        self.book: Book = book
        self.layer = next(
            (i for i, f in enumerate(self.folders) if f.absolute() == target.absolute()), len(self.folders)
        )

    # -- ids ---------------------------------------------------------------------------------------------

    def free(self, section: str, name: str) -> str:
        """The id, if nothing has it, nor ever had. Raises BadAnswer that says where it stands."""
        for other in THINGS if section in THINGS else (section,):
            entry = self._entries(other).get(name)
            if entry is not None:
                raise BadAnswer(f"there is {a_noun(other)} {name} already, at {_at(entry)}; give this one another id")
            gone = self._retired(other).get(name)
            if gone is not None:
                raise BadAnswer(
                    f"{name} is the id of {a_noun(other)} that was retired ({gone.reason}); ids are never used again"
                )
            if section != CASES and name in self._loaded.names.by_kind.get(other, {}):
                raise BadAnswer(f"{name} is one leg of {without_leg(name)[0]}; give this one another id")
        return name

    def _entries(self, section: str) -> Mapping[str, Entry]:
        return (self._cases if section == CASES else self._loaded.written).entries[section]

    def _retired(self, section: str) -> Mapping[str, Entry]:
        return (self._cases if section == CASES else self._loaded.written).retired[section]

    @cached_property
    def _cases(self) -> Merged:
        files: list[SourceFile] = [file for file in self._files if file.holds_cases]
        return merge(((file, read_yaml(file.content, file.name)) for file in files), (CASES,))

    # -- entries by words --------------------------------------------------------------------------------

    def find(self, sections: Sequence[str], asked: str, most: int) -> list[Named]:
        """The entries of these sections that are most like the words, the likest first; an id finds its own first."""
        named = {one.id: one for section in sections for one in self.named(section)}
        texts = {one.id: (f"{one.id.replace('-', ' ')} {one.name}", *one.texts) for one in named.values()}
        found = by_words(asked, texts)
        exact = [asked.strip()] if asked.strip() in named else []
        return [named[name] for name in dict.fromkeys([*exact, *found])][:most]

    def named(self, section: str) -> Sequence[Named]:
        """All entries of a section, as they are written."""
        if section not in self._named:
            self._named[section] = list(self._name_all(section))
        return self._named[section]

    def known(self, sections: Sequence[str], name: str) -> Named:
        """The entry with this id. Raises BadAnswer."""
        for section in sections:
            for one in self.named(section):
                if one.id == name:
                    return one
        raise BadAnswer(f"there is no {name!r} among them; type a word or two of its name")

    @cached_property
    def _named(self) -> dict[str, list[Named]]:
        return {}

    def _name_all(self, section: str) -> Iterator[Named]:
        written = self._loaded.written
        if section == "faults":
            yield from (Named(name, told) for name, told in stated(self.folders, self.family, None).faults.items())
        elif section == TAPS:
            for item in written.chains.values():
                for element in item.form.elements:
                    if element.tap:
                        told = f"{leg_text(item.form.name, None)}, up to {leg_text(element.name or element.tap, None)}"
                        yield Named(f"{item.id}@{element.tap}", told)
        elif section == OUTCOMES:
            for check in written.checks.values():
                for name, outcome in check.form.outcomes.items():
                    if outcome.when is not None and outcome.when != THE_SQUAWK and not check.form.proof:
                        told = f"“{leg_text(outcome.label, None)}” to {leg_text(check.form.name, None)}"
                        yield Named(f"{check.id}={name}", told, (check.form.ask or "",))
        elif section == ANSWERS:
            for one in self.book.checks.values():
                for shown in one.outcomes:
                    yield Named(f"{one.id}={shown.id}", f"“{shown.label}” to {one.name}", (one.ask or "",))
        elif section == "sources":
            yield from (Named(item.id, item.form.title) for item in written.sources.values())
        elif section == "cautions":
            yield from (Named(item.id, f"{item.form.level}: {item.form.text}") for item in written.cautions.values())
        elif section in WORDS_ALONE:
            yield from (Named(name, told) for name, told in written.ids(section).items())
        else:
            for item in written.ids(section).values():
                more = [*getattr(item.form, "also_called", ()), *getattr(item.form, "says", ())]
                yield Named(item.id, leg_text(item.form.name, None), tuple(more))

    # -- what is there -----------------------------------------------------------------------------------

    def data(self, section: str, name: str) -> Mapping[str, Any]:
        """An entry's fields as written, overlays in."""
        return dict(self._entries(section)[name].data)

    def amendable(self, section: str, name: str, field: str) -> None:
        """Whether a new file of the target may amend this field. Raises BadAnswer that says what to do instead."""
        entry = self._entries(section)[name]
        if entry.layer >= self.layer:
            own = "this overlay has it itself" if entry.layer == self.layer else "an overlay above this one has it"
            raise BadAnswer(
                f"{name} stands at {_at(entry)}, {own}, and a new file cannot change it; choose another, or add the "
                f"new entry to its `{field}` there by hand afterwards"
            )
        for amendment in entry.amendments:
            if field in amendment.fields and amendment.layer > self.layer:
                raise BadAnswer(
                    f"{name} is amended by a later overlay too, at {amendment.fields[field]}, which would win; "
                    "choose another, or write into that overlay"
                )

    def amended_in_target(self, section: str, name: str, field: str) -> list[str]:
        """The files of the target's family folder that amend the field already."""
        home = (self.target / self.family).absolute()
        found = [a.fields[field].file for a in self._entries(section)[name].amendments if field in a.fields]
        return [Path(file).name for file in found if Path(file).absolute().parent == home]

    def looked_at(self, place: str) -> bool:
        """Whether some check looks at an event or a point of a chain, so that it shows what is tied to it."""
        tops = [o.when for c in self.book.checks.values() for o in c.outcomes if o.when and o.when != THE_SQUAWK]
        return not below(tops, self.book.events).isdisjoint(self.members("events", place))

    def reached_from(self, place: str) -> set[str]:
        """The symptoms that an event or a point of a chain can bring about, by the ids of the files."""
        own = set(self.members("events", place))
        return {s.id for s in self.book.symptoms.values() if own & below([s.when], self.book.events)}

    def waits_for(self, action: str, places: Sequence[str], seen: Sequence[str]) -> list[str]:
        """The checks that a repair waits for, where none of them would look at a new fault that is tied to these
        places and results (``check=outcome``); none where it can be proposed."""
        known = self.book.actions.get(action)
        checks = [self.book.checks[name] for name in known.after_any if name in self.book.checks] if known else []
        own = {name for place in places for name in self.members("events", place)}
        results = {place.partition("=")[0] for place in seen}
        for one in checks:
            tops = [o.when for o in one.outcomes if o.when is not None and o.when != THE_SQUAWK]
            if one.proof or one.id in results or not below(tops, self.book.events).isdisjoint(own):
                return []
        return [one.id for one in checks]

    def rates_of(self, component: str) -> list[str]:
        """The faults of a component with how often they are, in words, as a measure for one more."""
        told = []
        for fault in self._loaded.written.faults.values():
            if fault.id.startswith(f"{component}."):
                often = f"{fault.form.rate:g}" if fault.form.rate is not None else f"{fault.form.probability:.0%}"
                told.append(f"{leg_text(fault.form.name, None)} ({often})")
        return told

    def modes_of(self, component: str) -> set[str]:
        """The ways in which a component fails, by name, in small letters."""
        faults = self._loaded.written.faults.values()
        return {leg_text(one.form.name, None).casefold() for one in faults if one.id.startswith(f"{component}.")}

    def far_from(self, component: str, rate: float) -> str:
        """What a rate is far from, in words: those beside it, or all of the book; "" for one that is not."""
        known = {fault.id: fault.form.rate for fault in self._loaded.written.faults.values() if fault.form.rate}
        beside = [one for fault, one in known.items() if fault.startswith(f"{component}.")]
        every = list(known.values())
        if beside and rate > FAR * max(beside):
            return f"{rate / max(beside):.0f} times the commonest way in which this part fails ({max(beside):g})"
        if every and rate > max(every):
            return f"more than that of any cause of the book (the commonest has {max(every):g})"
        if every and rate < min(every) / FAR:
            return f"less than a twentieth of that of any cause of the book (the rarest has {min(every):g})"
        return ""

    def options_of(self, component: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The options that a component is for, as written; and one of each group where the usual ones leave it out."""
        item = self._loaded.written.components.get(component)
        written = tuple(item.form.fitted) if item is not None else ()
        if not written or component in self.book.components:
            return written, ()
        groups = {option: group.id for group in self._loaded.written.options.values() for option in group.form.choices}
        return written, tuple({groups.get(option, ""): option for option in reversed(written)}.values())

    def legs_of(self, component: str) -> tuple[str, ...]:
        """The legs of a component, empty for one part."""
        item = self._loaded.written.components.get(component)
        return tuple(item.form.legs or ()) if item is not None else ()

    def as_written(self, section: str, name: str) -> str:
        """The id in the files of an id of the book, which may be one leg's copy."""
        return name if name in self._entries(section) else without_leg(name)[0]

    def members(self, section: str, name: str) -> list[str]:
        """The ids in the book of an entry as written: one for each leg it has."""
        known = getattr(self.book, section)
        copies = [with_leg(name, leg) for leg in LEGS]
        return [one for one in (name, *copies) if one in known]


def _at(entry: Entry) -> Position:
    return entry.spots.key()
