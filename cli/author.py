"""The dialogue of `faulttree knowledge new`: screens and typed lines around :mod:`faulttree.workshop.authoring`."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path

from rich.console import RenderableType

from faulttree.errors import BadAnswer
from faulttree.workshop.authoring.draft import Draft, files_of
from faulttree.workshop.authoring.ground import Named
from faulttree.workshop.authoring.questions import Question
from faulttree.workshop.authoring.session import Session
from faulttree.workshop.authoring.trial import Trial, try_out

from .screens import authored as screens
from .terminal import Terminal

RESERVED, CHANGE_LINES = 2, 5
"""Lines below a page: what the keys do, and the line that waits; more of them where an answer is to be changed."""

BACK = "<"

HELP_READING = "Enter reads on. At the end you say whether it is written; nothing is before."

HELP_DECIDING = {
    "y": "y writes new files; yours stay as they are.",
    "r": "r takes the cases that come out otherwise out of your book: you say why, and they are judged no more.",
    "c": "c asks a question again.",
    "v": "v shows the files and what they do once more.",
    "q": "q leaves; the answers are kept, and `faulttree knowledge new` goes on with them.",
}

Keep = Callable[[Mapping[str, str]], None]


class Author:
    """Asks one thing after another, shows what would come of it, and says whether it is to be written."""

    def __init__(self, terminal: Terminal, session: Session, head: str, keep: Keep, remembered: Path) -> None:
        self.terminal, self.session, self.head, self.keep = terminal, session, head, keep
        self.remembered = remembered
        self._passed_by = ""

    def run(self) -> dict[str, str] | None:
        """The files to be written after a yes, by their path within the overlay; None where nothing is to be.

        Raises KeyboardInterrupt and EOFError as typed; all answers were kept.
        """
        changed = False
        while True:
            draft = self._draft()
            try:
                texts = files_of(draft, self.session.ground)
            except BadAnswer as problem:
                if not self._change(_sentence(str(problem))):
                    return None
                continue
            trial = self._tried(draft, texts)
            # Whoever changed an answer has read the files; what is refused once more is told at once.
            decided = self._decided(texts, trial, read=changed and bool(trial.problems))
            while decided == "c" and not self._change():
                decided = self._decided(texts, trial, read=True)
            if decided in ("y", "q"):
                return texts if decided == "y" else None
            changed = decided == "c"
            if decided == "r":
                self._retire(trial.moved)

    # -- the interview -----------------------------------------------------------------------------------

    def _draft(self) -> Draft:
        offered: Sequence[Named] = ()
        said = ""
        while not isinstance(question := self.session.now, Draft):
            head = f"{self.head}, question {len(self.session.asked) + 1}"
            drawn = screens.question_lines if self.terminal.plain else screens.question_screen
            parts = list[RenderableType](drawn(head, question, offered, said))
            said, offered = self._taken(question, self._typed(question, parts), offered)
        return question

    def _typed(self, question: Question, parts: Sequence[RenderableType]) -> str:
        """A key where there is one for each answer, taken at once; else a line."""
        self.terminal.page(*parts)
        redraw = partial(self.terminal.page, *parts)
        if not question.keys or self.terminal.plain:
            return self.terminal.line("> ", redraw=redraw, at_once=[BACK]).strip()
        enter = "enter" if question.default is not None else None
        pressed = self.terminal.key("> ", [*question.keys, "?", BACK], enter=enter, redraw=redraw)
        return "" if pressed in ("enter", None) else str(pressed)

    def _taken(self, question: Question, typed: str, offered: Sequence[Named]) -> tuple[str, Sequence[Named]]:
        """What is said to an answer, and what is offered to choose from if the question stands."""
        if typed == "?":
            return question.help or "Answer in your words; what cannot be meant is asked again.", offered
        if typed == BACK:
            went = self.session.back()
            self.keep(self.session.answers)
            return ("" if went else "This is the first question."), ()
        if offered and not typed and question.default is not None and self._passed_by != question.key:
            self._passed_by = question.key
            return f"None of these? A number takes one; Enter once more: {question.default_words or 'none'}.", offered
        chosen = typed
        if offered and typed.isascii() and typed.isdigit():
            if not 1 <= int(typed[:6]) <= len(offered):
                return f"{typed[:6]} is none of the numbers 1 to {len(offered)}.", offered
            chosen = offered[int(typed) - 1].id
        try:
            self.session.answer(chosen)
        except BadAnswer as problem:
            return self._not_taken(question, typed, str(problem), offered)
        self.keep(self.session.answers)
        kept = self.session.answers.get(question.key)
        return ("" if question.echo is None or kept is None else question.echo(kept)), ()

    def _not_taken(
        self, question: Question, typed: str, problem: str, offered: Sequence[Named]
    ) -> tuple[str, Sequence[Named]]:
        """Words where an entry is wanted are looked up; anything else is told."""
        if question.find is None or not typed or (offered and typed.isdigit()):
            return f"{_sentence(problem)} Nothing was taken.", offered
        found = question.find(typed)
        if any(one.id == typed for one in found):
            return f"{_sentence(problem)} Nothing was taken.", ()
        if not found:
            return f"Nothing in the book is like {typed[:60]!r}; {question.nothing}.", offered
        return "The likest first. A number and Enter choose, other words look again.", found

    def _change(self, said: str = "") -> bool:
        """Which answer is to be given anew: page by page, a number on any of them. False where none is."""
        lines = screens.answered(self.session.asked)
        pages = self.terminal.pages(lines, RESERVED + CHANGE_LINES)
        place = 0
        while True:
            parts = [*pages[place], "", *([said] if said else []), *screens.change_keys(len(pages) > 1)]
            self.terminal.page(*parts)
            redraw = partial(self.terminal.page, *parts)
            typed = self.terminal.line("> ", redraw=redraw, at_once=[BACK, "q"]).strip()
            said = ""
            if typed in (BACK, "q"):
                return False
            if not typed:
                place = (place + 1) % len(pages)
            elif typed == "?":
                said = "The question is asked once more; the other answers stay as far as they still fit."
            elif numbers := _numbers(typed, len(lines)):
                self.session.change(*(self.session.asked[number - 1].question.key for number in numbers))
                self.keep(self.session.answers)
                return True
            else:
                said = f"{typed[:20]!r} is none of the numbers 1 to {len(lines)}."

    def _retire(self, cases: Sequence[str]) -> None:
        """Takes cases of the book out, with the reason that is typed; Enter alone leaves them in."""
        said = ""
        while True:
            told = f"Why does the shop expect otherwise than {', '.join(cases)}?"
            parts: list[RenderableType] = [
                *([said, ""] if said else []),
                told,
                "",
                "Type it, then Enter. Enter alone: leave them in.",
                "At once: ? help",
            ]
            self.terminal.page(*parts)
            typed = self.terminal.line("> ", redraw=partial(self.terminal.page, *parts)).strip()
            if typed == "?":
                said = (
                    "They stay in the shipped book, and are not worked where this overlay is. Say what you know better."
                )
                continue
            try:
                if typed:
                    self.session.retire(cases, typed)
                    self.keep(self.session.answers)
            except BadAnswer as problem:
                said = _sentence(str(problem))
                continue
            return

    # -- what would come of it ---------------------------------------------------------------------------

    def _tried(self, draft: Draft, texts: Mapping[str, str]) -> Trial:
        self.terminal.page("Checking it, with all cases of the book. This takes some seconds …")
        return try_out(draft, texts, self.session.ground, self.remembered)

    def _decided(self, texts: Mapping[str, str], trial: Trial, read: bool = False) -> str:
        """y write, r take out cases of the book, c change an answer, q leave. With an error there is no y.

        What was ``read`` already is shown again only if it is asked for.
        """
        target = str(self.session.ground.target)
        parts = [screens.files(texts)]
        parts += [screens.effect(trial)] if trial.touched else []
        parts += [screens.problems(trial)]
        while True:
            if not read:
                self._read(parts[:-1])
            sound = not trial.problems
            known = {"y": "y write it"} if sound else {"r": "r take these cases out"} if trial.only_moved else {}
            known |= {"c": "c change an answer", "v": "v look again", "q": "q leave"}
            told = f"Write it into {target}?" if sound else "It is not written as long as there are errors."
            words = "   ".join([*known.values(), "? help"])
            pages = self.terminal.pages(parts[-1], RESERVED + 2)
            self._leaf(pages[:-1] if not read else [])
            read = False
            pressed = self._key([*pages[-1], "", told, words], list(known))
            if pressed != "v":
                return pressed

    def _read(self, parts: Sequence[Sequence[str]]) -> None:
        for part in parts:
            self._leaf(self.terminal.pages(part, RESERVED))

    def _leaf(self, pages: Sequence[Sequence[RenderableType]]) -> None:
        for page in pages:
            if self.terminal.plain:
                self.terminal.page(*page)  # what is heard does not scroll away
                continue
            self._key([*page, "y or Enter read on   ? help"], ["y"], "y")

    def _key(self, parts: Sequence[RenderableType], keys: Sequence[str], enter: str | None = None) -> str:
        """A key; Enter means nothing where something would come of it."""
        self.terminal.page(*parts)
        while True:
            redraw = partial(self.terminal.page, *parts)
            pressed = self.terminal.key("> ", [*keys, "?"], enter=enter, redraw=redraw)
            if pressed != "?":
                return pressed or "q"
            self.terminal.show(HELP_READING if enter else " ".join(HELP_DECIDING[key] for key in keys))


def _numbers(typed: str, most: int) -> list[int]:
    """The numbers typed, with commas or without; none where one of them is none of 1 to ``most``."""
    words = typed.replace(",", " ").split()
    sound = all(word.isascii() and word.isdigit() and len(word) < 6 and 1 <= int(word) <= most for word in words)
    return [int(word) for word in words] if sound else []


def _sentence(problem: str) -> str:
    words = problem[:1].upper() + problem[1:]
    return words if words.endswith((".", "?")) else f"{words}."
