"""Files to a book, or to all that is wrong with them, in one pass.

The stages: files to plain data with positions; entries of all files put together; each validated by
itself; names looked up; legs and options worked in; rules of form. A stage goes on with what the stages
before it could use, and keeps quiet about what may only seem wrong because of what they could not.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import Any

from faulttree.book.copies import Copies
from faulttree.book.expand import Draft, expand
from faulttree.book.files import SHARED, SourceFile
from faulttree.book.fitted import choose, default_and_each_other, one_group_each
from faulttree.book.forms import Form
from faulttree.book.items import Written, validate
from faulttree.book.merge import merge
from faulttree.book.model import Book
from faulttree.book.names import Names, check_references, gather
from faulttree.book.positions import Position, Problem, in_reading_order
from faulttree.book.rules import BOOK_RULES, WRITTEN_RULES
from faulttree.book.sections import SECTIONS
from faulttree.book.yamltext import read_yaml


@dataclass(slots=True)
class Loaded:
    """What does not depend on the options: sound entries, names, problems, the digest; and the books made of them.

    ``data`` are the merged entries as plain data, which the digest is of; ``copies`` what books share.
    """

    family: str
    written: Written
    names: Names
    problems: list[Problem]
    data: dict[str, dict[str, Any]]
    digest: str
    copies: Copies
    drafts: dict[tuple[str, ...], Draft] = field(default_factory=dict)


def load(files: Iterable[SourceFile], family: str, problems: Sequence[Problem] = ()) -> Loaded:
    """Reads, merges and validates the files, and looks up every name in them. Files just read are not read again,
    whatever cases and lessons lie beside them."""
    return _load(tuple(file for file in files if file.is_book), family, tuple(problems))


@lru_cache(maxsize=4)
def _load(files: tuple[SourceFile, ...], family: str, problems: tuple[Problem, ...]) -> Loaded:
    merged = merge((file, read_yaml(file.content, file.name)) for file in files)
    written, invalid = validate(merged)
    names, clashes = gather(written)
    found = [*problems, *merged.problems, *invalid, *clashes, *one_group_each(written)]
    found += check_references(written, names)
    found += _singles(written, family, files)
    for rule in WRITTEN_RULES:
        found += rule.check(written)
    data = as_data(written)
    return Loaded(family, written, names, found, data, _digest(data), Copies(written))


def outline(loaded: Loaded, fitted: Sequence[str]) -> Draft:
    """The book for some options, sound or not: for those who only ask what it names."""
    fitting, _ = choose(loaded.written, fitted)
    chosen = tuple(fitting.chosen.values())
    if chosen not in loaded.drafts:
        loaded.drafts[chosen] = expand(
            loaded.written, loaded.names, fitting, loaded.family, loaded.digest, loaded.copies
        )
    return loaded.drafts[chosen]


def build(loaded: Loaded, fitted: Sequence[str]) -> tuple[Book | None, list[Problem]]:
    """The book for some options, and the problems that show with these options only."""
    _, problems = choose(loaded.written, fitted)
    draft = outline(loaded, fitted)
    problems += draft.problems
    problems += _rules(draft)
    return (None if problems or loaded.problems else draft.book), problems


def _rules(draft: Draft) -> Iterable[Problem]:
    for rule in BOOK_RULES:
        yield from rule.check(draft)


def read(
    files: Sequence[SourceFile], problems: Sequence[Problem], family: str, fitted: Sequence[str]
) -> tuple[Book | None, tuple[Problem, ...]]:
    """The book, or all that is wrong with it at these options."""
    loaded = load(files, family, problems)
    book, more = build(loaded, fitted)
    return book, in_reading_order([*loaded.problems, *more])


def check_at_all_options(
    files: Sequence[SourceFile], problems: Sequence[Problem], family: str, groups: Collection[str] | None = None
) -> tuple[tuple[Problem, ...], list[Draft]]:
    """All that is wrong at the defaults, and at each option with the other groups at theirs; and the books there.

    With ``groups`` only the options of these are looked at.
    """
    loaded = load(files, family, problems)
    found, drafts = list(loaded.problems), []
    at_defaults: set[Problem] = set()
    for fitted in default_and_each_other(loaded.written, groups):
        draft = outline(loaded, fitted)
        more = [*draft.problems, *_rules(draft)]
        if not fitted:
            at_defaults = set(more)
        found += [_at(p, fitted) for p in more if not fitted or p not in at_defaults]
        drafts.append(draft)
    return in_reading_order(found), drafts


def _at(problem: Problem, fitted: tuple[str, ...]) -> Problem:
    if not fitted:
        return problem
    what = f"{problem.what} (with {', '.join(fitted)})"
    return Problem(problem.position, what, problem.right, problem.rule)


def _singles(written: Written, family: str, files: Sequence[SourceFile]) -> Iterable[Problem]:
    """The book stands once in the shared folder, the family once in its own."""
    for section, home in (("book", SHARED), ("family", family)):
        entry = written.entries[section].get(section)
        names = [file.name for file in files if file.home == home]
        if entry is None:
            if names and section not in written.mentions:
                what = f"no file of the folder has the section `{section}`"
                fields = "`version: …`" if section == "book" else "`id`, `name`, `proof`"
                right = f"add it to one of them, with {fields}"
                yield Problem(Position(names[0], 1, 1), what, right, "missing-section")
        elif entry.home != home:
            what = f"the section `{section}` stands in the folder {entry.home}"
            yield Problem(entry.spots.key(), what, f"move it to {home}", "sections")
    item = written.family.get("family")
    if item is not None and item.form.id != family:
        what = f"the family is called `{item.form.id}` in the folder `{family}`"
        yield Problem(item.spots.value("id"), what, f"write `id: {family}`", "family")


def as_data(written: Written) -> dict[str, dict[str, Any]]:
    """The merged entries as plain data, by section and id: layout, comments and the split over files left out."""
    return {
        section: {
            name: entry if isinstance(entry, str) else _canonical(entry.form)
            for name, entry in written.ids(section).items()
        }
        for section in SECTIONS
    }


def _digest(data: dict[str, dict[str, Any]]) -> str:
    """SHA-256 over canonical JSON of the merged entries."""
    text = json.dumps(data, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return "sha256:" + hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _canonical(value: Any) -> Any:
    """A form as plain data: fields not stated left out, mappings whose order counts as lists of pairs."""
    if isinstance(value, Form):
        return {
            name: _canonical(inner)
            for name, default in _defaults(type(value)).items()
            if (inner := getattr(value, name)) != default
        }
    if isinstance(value, dict):
        return [[name, _canonical(inner)] for name, inner in value.items()]
    return [_canonical(inner) for inner in value] if isinstance(value, list | tuple) else value


@cache
def _defaults(form: type[Form]) -> dict[str, Any]:
    """What each field of a form is where it is not stated; only to compare with."""
    return {name: field.get_default(call_default_factory=True) for name, field in form.model_fields.items()}
