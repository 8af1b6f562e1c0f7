"""All entries of a family after validation, typed by section, with where each of them stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from faulttree.book import written as w
from faulttree.book.forms import Form
from faulttree.book.merge import Entry, Merged
from faulttree.book.model import Defaults
from faulttree.book.nearest import did_you_mean, listed
from faulttree.book.positions import Problem
from faulttree.book.saying import problems_of
from faulttree.book.sections import ENTRIES, SECTIONS, WORDS_ALONE, noun
from faulttree.book.spots import Spots

F = TypeVar("F", bound=Form)


@dataclass(frozen=True, slots=True)
class Item(Generic[F]):
    """One sound entry: its section and id, its form, and where its parts stand."""

    section: str
    id: str
    form: F
    spots: Spots
    home: str

    @property
    def fitted(self) -> Sequence[str]:
        """The options that it applies to; none for one that applies to all."""
        form: Any = self.form
        return form.fitted if "fitted" in type(form).model_fields else ()

    @property
    def noun(self) -> str:
        """The word for such an entry."""
        return noun(self.section)


@dataclass(slots=True)
class Written:
    """Sound entries by section; ``retired`` entries as they were, and ``broken`` ids, by section.

    ``defines`` are ids that entries which could not be used would have defined, ``mentions`` all words in
    those entries: neither may be reported as missing.
    """

    book: dict[str, Item[w.BookForm]] = field(default_factory=dict)
    family: dict[str, Item[w.FamilyForm]] = field(default_factory=dict)
    defaults: dict[str, Item[w.DefaultForm]] = field(default_factory=dict)
    sources: dict[str, Item[w.SourceForm]] = field(default_factory=dict)
    options: dict[str, Item[w.OptionGroupForm]] = field(default_factory=dict)
    equipment: dict[str, str] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    cautions: dict[str, Item[w.CautionForm]] = field(default_factory=dict)
    circumstances: dict[str, Item[w.CircumstanceForm]] = field(default_factory=dict)
    conditions: dict[str, Item[w.ConditionForm]] = field(default_factory=dict)
    limits: dict[str, Item[w.LimitForm]] = field(default_factory=dict)
    opening: dict[str, Item[w.OpeningForm]] = field(default_factory=dict)
    components: dict[str, Item[w.ComponentForm]] = field(default_factory=dict)
    faults: dict[str, Item[w.FaultForm]] = field(default_factory=dict)
    events: dict[str, Item[w.EventForm]] = field(default_factory=dict)
    chains: dict[str, Item[w.ChainForm]] = field(default_factory=dict)
    symptoms: dict[str, Item[w.SymptomForm]] = field(default_factory=dict)
    sayings: dict[str, Item[w.SayingsForm]] = field(default_factory=dict)
    checks: dict[str, Item[w.CheckForm]] = field(default_factory=dict)
    actions: dict[str, Item[w.ActionForm]] = field(default_factory=dict)
    entries: dict[str, dict[str, Entry]] = field(default_factory=dict)
    retired: dict[str, dict[str, Entry]] = field(default_factory=dict)
    broken: dict[str, set[str]] = field(default_factory=dict)
    defines: set[str] = field(default_factory=set)
    mentions: set[str] = field(default_factory=set)

    def items(self) -> Iterator[Item[Any]]:
        """Every sound entry that has a form, section by section."""
        for section in SECTIONS:
            if section not in WORDS_ALONE:
                yield from getattr(self, section).values()

    def ids(self, section: str) -> dict[str, Any]:
        """Entries of a section by id."""
        entries: dict[str, Any] = getattr(self, section)
        return entries


def validate(merged: Merged) -> tuple[Written, list[Problem]]:
    """Validates entry by entry, so that one bad entry hides no other."""
    result = Written(entries=merged.entries, defines=set(merged.lost), mentions=set(merged.lost))
    problems: list[Problem] = []
    for section in SECTIONS:
        result.retired[section] = merged.retired[section]
        result.broken[section] = set()
        for entry in merged.entries[section].values():
            found = _validate_words(entry, result) if section in WORDS_ALONE else _validate(entry, result)
            if found or not entry.complete:
                result.broken[section].add(entry.id)
                words = {entry.id, *_words(entry.data)}
                result.mentions |= words
                result.defines |= words if section == "options" else {entry.id}
            problems.extend(found)
    return result, problems


def _validate_words(entry: Entry, result: Written) -> list[Problem]:
    if not entry.complete:
        return []
    if isinstance(entry.data, str) and entry.data.strip():
        result.ids(entry.section)[entry.id] = entry.data
        return []
    what, _, right = WORDS_ALONE[entry.section].partition("; ")
    return [Problem(entry.spots.value(), what, right, "value")]


def _validate(entry: Entry, result: Written) -> list[Problem]:
    form = w.FORMS[entry.section]
    if not entry.complete:
        return []
    if entry.section == "defaults" and entry.id not in Defaults.__dataclass_fields__:
        known = list(Defaults.__dataclass_fields__)
        right = did_you_mean(entry.id, known, f"known: {listed(known)}")
        return [Problem(entry.spots.key(), f"there is no default `{entry.id}`", right, "unknown-field")]
    if not isinstance(entry.data, dict):
        what = f"{ENTRIES.get(entry.section, entry.section)} `{entry.id}` has no fields"
        return [Problem(entry.spots.key(), what, "write its fields below it, indented", "value")]
    try:
        sound = form.model_validate(entry.data)
    except ValidationError as error:
        return problems_of(error, form, entry.spots.key, entry.spots.value)
    getattr(result, entry.section)[entry.id] = Item(entry.section, entry.id, sound, entry.spots, entry.home)
    return []


def _words(data: Any) -> Iterator[str]:
    """Every word anywhere in an entry."""
    if isinstance(data, str):
        yield data
    elif isinstance(data, dict):
        for key, value in data.items():
            yield key
            yield from _words(value)
    elif isinstance(data, list):
        for member in data:
            yield from _words(member)
