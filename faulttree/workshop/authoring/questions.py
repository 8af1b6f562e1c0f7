"""One question of the interview as plain data, and the kinds of question there are.

The interview is a generator: it yields a question and is sent what its ``take`` made of the answer. So the answers
alone, by key, say how far it has come, and it can be gone through again from any of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Generator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeAlias, TypeVar

from faulttree.errors import BadAnswer
from faulttree.workshop.authoring import answers
from faulttree.workshop.authoring.ground import Ground, Named

T = TypeVar("T")
Asking: TypeAlias = Generator["Question", str, T]

OFFERED = 7
"""So many entries are offered for some words: they fit a small window with the question."""

NEW = "new"

BASES = (
    ("estimate", "an estimate: good for the order of causes, within a factor of two or three"),
    ("common-practice", "common practice: what the trade does and no book says"),
    ("shop-history", "the shop's history: counted, and you can say how many in how many hours"),
    ("published", "published: in a source that the book lists, with its place"),
)

NOUNS = {
    "components": "part", "faults": "cause", "checks": "check", "actions": "repair", "symptoms": "squawk",
    "cases": "worked example",
}  # fmt: skip

WANT_NUMBER = "Where the number comes from is written beside it, so that others can weigh it."


@dataclass(frozen=True, slots=True)
class Question:
    """``choices`` are (value, words), answered by number; ``find`` looks entries up by words, answered by number too.

    ``take`` makes of an answer what is kept, or raises BadAnswer. Enter alone gives ``default``, told as
    ``default_words``; where it is None an answer is wanted. With ``none`` the word none says that there is none, for
    Enter gives something. ``keys`` answer by themselves; ``nothing`` is what may be done where nothing was found;
    ``echo`` says how an answer was understood.
    """

    key: str
    title: str
    lines: tuple[str, ...] = ()
    help: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    default: str | None = None
    default_words: str = ""
    find: Callable[[str], Sequence[Named]] | None = None
    take: Callable[[str], str] = answers.text
    keys: tuple[str, ...] = ()
    nothing: str = "try other words"
    echo: Callable[[str], str] | None = None
    none: bool = False


NONE = "none"

ONE_KEY = 9
"""So many choices have a digit each."""


def proposing(question: Question, answer: str, words: str) -> Question:
    """The question with an answer that Enter takes, told in these words."""
    none = question.default == "" and answer != ""
    lines = (*question.lines, f"Type {NONE} for none.") if none and not question.none else question.lines
    return replace(question, default=answer, default_words=words, lines=lines, none=none or question.none)


def chosen(key: str, title: str, choices: Sequence[tuple[str, str]], default: str | None, help: str = "") -> Question:
    """One of several."""

    def take(typed: str) -> str:
        words = typed.strip()
        by_number = {str(number): value for number, (value, _) in enumerate(choices, 1)}
        value = by_number.get(words, words)
        if value not in [value for value, _ in choices]:
            raise BadAnswer(f"{words!r} is none of the numbers 1 to {len(choices)}")
        return value

    words = next((str(number) for number, (value, _) in enumerate(choices, 1) if value == default), "")
    keys = tuple(str(number) for number in range(1, len(choices) + 1)) if len(choices) <= ONE_KEY else ()
    return Question(key, title, (), help, tuple(choices), default, words, take=take, keys=keys)


def yes(key: str, title: str, lines: Sequence[str] = (), help: str = "") -> Question:
    """Yes or no; no unless yes is said."""

    def take(typed: str) -> str:
        said = {"y": "y", "yes": "y", "n": "n", "no": "n"}.get(typed.strip().lower())
        if said is None:
            raise BadAnswer("type y for yes or n for no")
        return said

    return Question(key, title, tuple(lines), help, default="n", default_words="no", take=take, keys=("y", "n"))


class Asker:
    """Makes questions over a ground. ``seed`` are answers proposed beforehand, by key: Enter takes them."""

    def __init__(self, ground: Ground, seed: Mapping[str, str]) -> None:
        self.ground, self.seed = ground, seed

    def ask(self, question: Question) -> Asking[str]:
        """The answer to one question."""
        if question.key in self.seed:
            proposed = self.seed[question.key]
            question = proposing(question, proposed, proposed or question.default_words or NONE)
        answer = yield question
        return answer

    def words(
        self, key: str, title: str, *lines: str, help: str = "", optional: bool = False, taken: Collection[str] = ()
    ) -> Asking[str]:
        """Words on one line, "" for none where that is allowed; none that are ``taken``, in small letters."""

        def take(typed: str) -> str:
            if answers.text(typed).casefold() in taken:
                raise BadAnswer(
                    "the book has that already, word for word; amend it by hand where it is shown or mended otherwise"
                )
            return answers.text(typed)

        if optional:
            question = Question(
                key, title, lines, help, default="", default_words="none",
                take=lambda typed: answers.text(typed) if typed.strip() else "",
            )  # fmt: skip
            return (yield from self.ask(question))
        return (yield from self.ask(Question(key, title, lines, help, take=take)))

    def new_id(self, key: str, section: str, words: str, before: str = "", lines: tuple[str, ...] = ()) -> Asking[str]:
        """A free id; the words suggest one."""

        def take(typed: str) -> str:
            name = answers.identifier(typed.strip().removeprefix(before))
            self.ground.free(section, before + name)
            return name

        suggested = self._free_of(section, answers.slug(words), before)
        help = (
            "The id is what other files, records and commands call it. It stays for ever and is never used again for "
            "something else. Small letters, digits, single hyphens."
        )
        lines = (*lines, f"It is written {before}… in the files.") if before else lines
        title = f"The id of the {NOUNS[section]}?"
        question = Question(key, title, lines, help, default=suggested, default_words=suggested or "", take=take)
        return before + (yield from self.ask(question))

    def _free_of(self, section: str, name: str, before: str) -> str | None:
        for candidate in (name, *(f"{name}-{number}" for number in range(2, 100))):
            try:
                self.ground.free(section, before + answers.identifier(candidate))
            except BadAnswer:
                continue
            return candidate
        return None

    def number(
        self, key: str, title: str, value: Callable[[str], float], *lines: str, help: str = "",
        default: str | None = None, words: Callable[[float], str] = "{:g}".format,
    ) -> Asking[float]:  # fmt: skip
        """A number as ``value`` reads it; ``words`` say how it was understood."""

        def take(typed: str) -> str:
            value(typed)
            return typed.strip()

        question = Question(
            key, title, lines, help, default=default, default_words=default or "", take=take,
            echo=lambda kept: f"Taken: {words(value(kept))}.",
        )  # fmt: skip
        return value((yield from self.ask(question)))

    def entry(
        self, key: str, title: str, sections: Sequence[str], *lines: str, help: str = "", optional: bool = False,
        enter: str = "none", new: str = "", more: Sequence[Named] = (), check: Callable[[str], None] | None = None,
    ) -> Asking[str]:  # fmt: skip
        """An entry of the book by words, "" for none; ``new`` tells of one it does not have; ``more`` are of the draft.

        ``check`` raises BadAnswer for one that cannot be meant.
        """

        def find(typed: str) -> Sequence[Named]:
            words = typed.lower().split()
            own = [one for one in more if any(word in f"{one.id} {one.name}".lower() for word in words)]
            return [*own, *self.ground.find(sections, typed, OFFERED - len(own))]

        def take(typed: str) -> str:
            name = typed.strip()
            if (not name and optional) or (name == NEW and new):
                return name
            if name not in [one.id for one in more]:
                self.ground.known(sections, name)
            if check is not None:
                check(name)
            return name

        told = ["Type a word or two of its name, then the number of one that is shown, each with Enter."]
        told += [f"Type {NEW} for {new}."] if new else []
        default: dict[str, Any] = {"default": "", "default_words": enter} if optional else {}
        nothing = f"try other words, or type {NEW} for {new}" if new else "try other words"
        question = Question(key, title, (*lines, *told), help, find=find, take=take, nothing=nothing, **default)
        return (yield from self.ask(question))

    def entries(
        self, key: str, title: str, sections: Sequence[str], *lines: str, help: str = "", least: int = 0,
        more: Sequence[Named] = (), check: Callable[[str], None] | None = None,
    ) -> Asking[tuple[str, ...]]:  # fmt: skip
        """Several entries, one after the other; none ends it."""
        found: list[str] = []

        def fresh(name: str) -> None:
            if name in found:
                raise BadAnswer(f"{name} is among them already; Enter ends the list")
            if check is not None:
                check(name)

        while True:
            optional = len(found) >= least
            told = [f"So far: {', '.join(found)}. Enter ends the list."] if found else []
            one = yield from self.entry(
                f"{key}.{len(found) + 1}", title, sections, *lines, *told, help=help, optional=optional, more=more,
                enter="no more" if found else "none", check=fresh,
            )  # fmt: skip
            if not one:
                return tuple(found)
            found.append(one)

    def _count(self, key: str, counted: str) -> Asking[str]:
        """How many in how many hours; not another count than the one that the figure was told by."""

        def take(typed: str) -> str:
            note, said = answers.text(typed), answers.count_in(typed)
            if counted and said is not None and not math.isclose(said, answers.rate(counted), rel_tol=0.01):
                raise BadAnswer(f"the rate was told as {counted}; say the same count here, or go back and change it")
            return note

        question = Question(key, "How many in how many hours, since when?", (), WANT_NUMBER, take=take)
        if counted:
            question = proposing(question, f"{counted} flight hours", f"{counted} flight hours")
        return (yield from self.ask(question))

    def basis(self, key: str, usual: str = "estimate", counted: str = "") -> Asking[str | dict[str, str]]:
        """Where numbers come from, as the files have it; Enter takes the ``usual``, and what was ``counted``."""
        kind = yield from self.ask(chosen(f"{key}", "Where do these numbers come from?", BASES, usual, WANT_NUMBER))
        if kind == "shop-history":
            return {"kind": kind, "note": (yield from self._count(f"{key}.note", counted))}
        if kind == "published":
            source = yield from self.entry(f"{key}.source", "Which source?", ["sources"], help=WANT_NUMBER)
            where = yield from self.words(f"{key}.where", "Where in it? Page, paragraph, table.", help=WANT_NUMBER)
            return {"kind": kind, "source": source, "where": where}
        return kind
