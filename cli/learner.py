"""Learner mode of `work`: before the ranking is shown, the learner's own is asked for, and then held beside it.

Nothing of it goes into the case: a record says what was found, not what somebody guessed.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from faulttree.book.model import Book
from faulttree.case import CaseState
from faulttree.chances import in_words
from faulttree.graph.gates import Gates

from .terminal import Terminal

FIRST = 3
"""How many parts are named, and shown beside them."""

QUIT = "q"


class Learner:
    """Asks anew each time that something was found, done or reported."""

    def __init__(self, book: Book, terminal: Terminal) -> None:
        self.book, self.terminal, self._gates = book, terminal, Gates(book)
        self._known: object = None
        self._named: list[str] = []

    def wants(self, state: CaseState) -> bool:
        """Whether what is known has changed since the learner was asked."""
        return state.beliefs() != self._known

    def ask(self, state: CaseState, chances: Mapping[str, float]) -> str:
        """Asks for the likeliest parts, and says how they stand beside the book's ``chances`` by component.

        Returns what is to be shown above the ranking, or QUIT.
        """
        parts = self._parts(state)
        said = ""
        while True:
            screen = [*([said] if said else []), *self._screen(parts)]
            self.terminal.page(*screen)
            typed = self.terminal.line("> ", redraw=partial(self.terminal.page, *screen)).strip()
            if typed == QUIT:
                return QUIT
            words = typed.replace(",", " ").split()
            if all(word.isdecimal() and 1 <= int(word) <= len(parts) for word in words):
                break
            said = f"{typed!r}: not among the numbers shown." if typed != "?" else "The likeliest first, by number."
        self._known = state.beliefs()
        self._named = [parts[int(word) - 1] for word in dict.fromkeys(words)][:FIRST] or self._named
        return self._beside(chances)

    def _parts(self, state: CaseState) -> list[str]:
        below = frozenset[str]().union(*(self._gates.below(self.book.symptoms[s].when) for s in state.reported))
        return sorted(
            {self.book.faults[f].component for f in below}, key=lambda name: self.book.components[name].name.lower()
        )

    def _screen(self, parts: list[str]) -> list[str]:
        """The question and the parts: in two columns on a screen, one to a line where it is read aloud."""
        before = f" Enter: as before ({', '.join(map(self._name, self._named))})." if self._named else " Enter: none."
        head = [f"Your ranking first: up to {FIRST} parts, the likeliest first, by number.{before} q quits.", ""]
        lines = [f"{number:>3} {self._name(name)}" for number, name in enumerate(parts, 1)]
        if self.terminal.plain:
            return [*head, *lines]
        half, width = (len(lines) + 1) // 2, self.terminal.width // 2 - 1
        right = [*lines[half:], ""]
        return [*head, *(f"{a[:width]:<{width}} {b[:width]}" for a, b in zip(lines[:half], right, strict=False))]

    def _beside(self, chances: Mapping[str, float]) -> str:
        ranked = sorted(chances, key=lambda name: (-chances[name], name))[:FIRST]
        book = "; ".join(f"{self._name(name)} {in_words(chances[name])}" for name in ranked)
        if not self._named:
            return f"The book: {book}."
        own = "; ".join(f"{self._name(name)} (the book: {in_words(chances[name])})" for name in self._named)
        return f"Yours: {own}.\nThe book: {book}."

    def _name(self, part: str) -> str:
        return self.book.components[part].name
