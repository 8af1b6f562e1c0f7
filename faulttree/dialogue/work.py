"""The work itself: the board with the next step, views beside it, and the end of the case."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from rapidfuzz import fuzz
from rapidfuzz.utils import default_process

from faulttree.advice import Advice, Advisor, Suggestion, Waiting
from faulttree.belief import Belief, Entry
from faulttree.book.model import LEGS, Book
from faulttree.case import CaseState
from faulttree.chances import minutes_in_words
from faulttree.dialogue import jump, steps, taking_back
from faulttree.dialogue.hand import CANNOT_HERE
from faulttree.dialogue.prompts import NOTE, Board, CauseLine, Choice, NewEntry, Prompt, Reply
from faulttree.dialogue.where import strips
from faulttree.squawk.words import Vocabulary

CAUSES_LISTED = 9
WORDS = re.compile(r"[a-z]+")
NEAR_ENOUGH = 55
"""Likeness of words to a cause's name, of 100, from which it is shown."""

LIKELIER, UNLIKELIEST = 6.0, 1e-3
"""So much likeness a cause loses for each tenth that it is less likely than the likeliest; to this share at most."""

OTHERS_SHOWN = 9
MUCH, SOMETHING = 0.5, 0.1
"""Of the bits of the check that tells most: from so many on a check tells much, or something."""

WAITING_SHOWN = 3
ALIKE_MINUTES = 3.0
"""Two ways that differ by less are as good as each other."""

ACCEPT = Choice("y", "do this next", "accept")
WHY_TO_FOUND = (
    Choice("w", "why", "why"),
    Choice("o", "other steps", "others"),
    Choice("f", "I found it", "found"),
)
SHOW_BETTER = Choice("g", "the better step", "show-better")
REPAIR_IN_WORDS = Choice("r", "a repair in your words", "did-other")
LOOKED_AHEAD = "Looked further ahead: another step is better now. g shows it."
COMMANDS = (
    Choice("v", "fault tree", "tree"),
    Choice("d", "what changed", "changed"),
    Choice("p", "at hand", "people"),
    replace(taking_back.COMMAND, value="undo"),
    NOTE,
    Choice("h", "so far", "so-far"),
    Choice("x", "leave open", "leave-open"),
)
VIEWS_BESIDE = tuple(c.value for c in (*WHY_TO_FOUND, CANNOT_HERE, REPAIR_IN_WORDS, *COMMANDS) if c.value != "undo")


def board(
    state: CaseState,
    advisor: Advisor,
    belief: Belief,
    advice: Advice,
    currency: str = "",
    at_first: Mapping[str, float] | None = None,
) -> Board:
    """What the main screen shows. ``at_first`` are the probabilities by the symptoms alone; without them no strips."""
    book = advisor.book
    ranked = sorted(belief.faults.items(), key=lambda item: (-item[1].probability, item[0]))
    causes = tuple(
        CauseLine(book.faults[fault].name, b.probability, b.comes_and_goes) for fault, b in ranked[:CAUSES_LISTED]
    )
    warnings = []
    if belief.contradiction is not None:
        those = _named(book, belief.contradiction.answers)
        warnings.append(f"These answers cannot be true together; repeat one: {those}")
    elif (
        belief.conflict_bits is not None
        and belief.conflict_bits > book.defaults.conflict_bits
        and not state.other_repairs  # what was done in own words may well have changed what a check shows
    ):
        warnings.append(f"The answers fit together badly{_least_fitting(book, belief)}.")
    standing = tuple(book.conditions[c].name for c in book.conditions if c in state.standing)
    suggestion = advice.suggestions[0] if advice.suggestions else None
    now = {fault: found.probability for fault, found in belief.faults.items()}
    step = suggestion.id if suggestion is not None else ""
    if step in book.checks and (missed := steps.passed_over(book, state, book.checks[step])):
        warnings.append(missed)
    where = () if at_first is None else strips(book, advisor.gates, now, at_first, step)
    return Board(
        causes, belief.unlisted, standing, suggestion, advice.to_go, tuple(warnings), advice.fetch, advice.refined,
        currency, where, _known(book, state), _waits(book, advice),
    )  # fmt: skip


def _waits(book: Book, advice: Advice) -> str:
    """The best step that cannot be done for want of people or equipment."""
    if not advice.waiting:
        return ""
    return f"Waits for {waits_for(book, advice.waiting[0])}: {advice.waiting[0].name}."


def _known(book: Book, state: CaseState) -> tuple[str, ...]:
    """What was found in this case, the latest first."""
    told = [f"Found, in your words: {words}" for words in reversed(state.found_other)]
    for name, outcome in reversed(state.last_shown.items()):
        check = book.checks[name]
        told.append(f"{check.name}: {next(o.label for o in check.outcomes if o.id == outcome)}")
    return tuple(told)


def _least_fitting(book: Book, belief: Belief) -> str:
    """The answer without which the others fit best, if it is one that can be told."""
    odd = belief.odd_one_out
    named = _named(book, [odd[0]]) if odd is not None else ""
    return f"; {named} fits least, repeat it" if named else "; repeat one"


def _named(book: Book, answers: Iterable[Entry]) -> str:
    names = []
    for entry in answers:
        if hasattr(entry, "check"):
            names.append(book.checks[entry.check].name)
        elif hasattr(entry, "symptom"):
            names.append(book.symptoms[entry.symptom].name)
        elif hasattr(entry, "fault"):
            names.append(book.faults[entry.fault].name)
    return "; ".join(names)


def prompt(book: Book, shown: Board, squawk: str = "", better: bool = False, in_words: bool = False) -> Prompt:
    """The main screen: causes, next step, commands. A question can be answered at once.

    ``better``: a better step is known by now. It is told and not shown, since its keys would mean something else under
    the hand of whoever reads this one. ``in_words``: something was found that the book does not know, and not repaired.

    Where its answers go by legs and the pilot's words in ``squawk`` name one, that answer says so.
    """
    step = shown.suggestion
    lines = (LOOKED_AHEAD,) if better else ()
    more = (*((SHOW_BETTER,) if better else ()), *((REPAIR_IN_WORDS,) if in_words else ()))
    if step is not None and step.kind == "ask" and not step.cautions and not step.to_set_up and not step.to_restore:
        check = book.checks[step.id]
        leg = _leg_told(squawk, [o.label for o in check.outcomes])
        choices = tuple(
            Choice(str(i), o.label, o.id, f'the squawk says "{leg}"' if leg and leg in _legs_in(o.label) else "")
            for i, o in enumerate(check.outcomes, 1)
        )
        extra = (Choice("n", "not asked", "not-done"), Choice("t", "can't tell, or it was not so", "cannot-tell"))
        return Prompt("question", check.ask or check.name, lines, choices=choices,
                      commands=(*more, *extra, *WHY_TO_FOUND, *COMMANDS), about=step.id, board=shown)  # fmt: skip
    choices = (ACCEPT,) if step is not None else ()
    commands = (*more, *WHY_TO_FOUND, *([CANNOT_HERE] if step is not None and step.kind != "help" else []), *COMMANDS)
    return Prompt("next", step.name if step else "Nothing more to suggest", lines, choices=choices, commands=commands,
                  about=step.id if step else "", board=shown)  # fmt: skip


def _legs_in(text: str) -> list[str]:
    words = WORDS.findall(text.lower())
    return [leg for leg in LEGS if leg in words]


def _leg_told(squawk: str, labels: Sequence[str]) -> str:
    """The one leg that the squawk names, where the answers go by legs: a hint for who answers, and no evidence."""
    named = _legs_in(squawk)
    by_legs = {leg for label in labels for leg in _legs_in(label)}
    return named[0] if len(named) == 1 and len(by_legs) > 1 else ""


def accept(book: Book, state: CaseState, asked: Prompt, typed: str) -> Reply:
    """What an answer on the main screen leads to."""
    if typed == "undo":
        return taking_back.last(book, state)
    if typed in VIEWS_BESIDE:
        return Reply(view=typed)
    if asked.topic == "question":
        started = NewEntry("started", {"kind": "ask", "id": asked.about})
        if typed in ("not-done", "cannot-tell"):
            return Reply((started, NewEntry("skipped", {"check": asked.about, "reason": typed})))
        return Reply((started, NewEntry("answer", {"check": asked.about, "outcome": typed, "sure": True})))
    assert asked.board is not None
    assert asked.board.suggestion is not None
    return start(asked.board.suggestion)


def start(suggestion: Suggestion) -> Reply:
    """Takes a step in hand; help ends the work here."""
    if suggestion.kind == "help":
        return Reply((NewEntry("left-open", {"reason": "handed to a specialist"}),))
    data = {"kind": suggestion.kind, "id": suggestion.id}
    if suggestion.also:
        return Reply((NewEntry("started", data | {"also": list(suggestion.also)}),))
    return Reply((NewEntry("started", data),))


def waits_for(book: Book, waiting: Waiting) -> str:
    """What a step waits for, in words."""
    return ", ".join(book.equipment[name] for name in waiting.lacking) or f"{waiting.people} people"


def others(book: Book, advice: Advice, first: int = 0) -> Prompt:
    """The other ways to go on from the ``first`` on, each with its minutes."""
    choices = []
    # A way that was there a moment ago may be gone by now: no page is empty.
    first = min(first, max(len(advice.suggestions) - 1, 0) // OTHERS_SHOWN * OTHERS_SHOWN)
    shown = advice.suggestions[first : first + OTHERS_SHOWN]
    least = min((s.expected_minutes for s in advice.suggestions), default=0.0)
    most = max((s.bits for s in advice.suggestions if s.kind in ("ask", "check")), default=0.0)
    for i, suggestion in enumerate(shown, 1):
        more = suggestion.expected_minutes - least
        longer = f", about {minutes_in_words(more)} longer in all" if more >= ALIKE_MINUTES else ""
        note = f"{minutes_in_words(suggestion.minutes_now)} now{_telling(suggestion, most)}{longer}"
        choices.append(Choice(str(i), suggestion.name, str(first + i - 1), note))
    lines = ["The best first; beside each the time it takes now, how much it tells, what the job takes longer by it."]
    for waiting in advice.waiting[:WAITING_SHOWN]:
        lines.append(f"Waits for {waits_for(book, waiting)}: {waiting.name}.")
    left = len(advice.suggestions) - first - len(shown)
    lines += ["These are the last of them."] if first and not left else []
    further = [Choice("m", f"{left} more", f"others {first + len(shown)}")] if left else []
    commands = (*further, Choice("t", "any check by name", jump.VIEW), Choice("r", "a repair not listed", "did-other"),
                Choice("b", "back", "back"))  # fmt: skip
    return Prompt("others", "Other steps", tuple(lines), tuple(choices), commands)


def _telling(suggestion: Suggestion, most: float) -> str:
    """How much a check tells beside the one that tells most."""
    if suggestion.kind not in ("ask", "check") or suggestion.owed or most <= 0:
        return ""
    share = suggestion.bits / most
    return ", tells much" if share >= MUCH else ", tells something" if share >= SOMETHING else ", tells little"


def found(board_shown: Board, state: CaseState, advisor: Advisor, belief: Belief) -> Prompt:
    """Asks which fault was found: one of the likely ones, or words for one the book does not know."""
    ranked = sorted(belief.faults.items(), key=lambda item: (-item[1].probability, item[0]))[:CAUSES_LISTED]
    choices = tuple(Choice(str(i), advisor.book.faults[f].name, f) for i, (f, _) in enumerate(ranked, 1))
    lines = ("Type its number, or say in words what it is. Enter goes back.",)
    return Prompt("found", "What did you find?", lines, choices, text=True, default="")


def found_by_words(advisor: Advisor, belief: Belief, words: str) -> Prompt:
    """The causes of the book that are most like what was said, and the words themselves."""
    faults = advisor.book.faults
    same = Vocabulary(advisor.book.words)

    def alike(name: str) -> float:
        """As said, or with the words that the book takes for the same."""
        return max(
            fuzz.token_set_ratio(one, other, processor=default_process)
            for one, other in ((words, name), (same.plain(words), same.plain(name)))
        )

    scores = {fault.id: alike(fault.name) for fault in faults.values()}
    likeliest = max((found.probability for found in belief.faults.values()), default=0.0) or 1.0

    def rank(fault: str) -> float:
        """Words tell most; of what they fit alike, what is likely is meant rather than what is not."""
        tenfold = math.log10(max(belief.faults[fault].probability / likeliest, UNLIKELIEST))
        return scores[fault] + LIKELIER * tenfold

    near = sorted(faults, key=lambda fault: (-rank(fault), fault))
    listed = [f for f in near[: CAUSES_LISTED - 1] if scores[f] >= NEAR_ENOUGH]
    choices = [Choice(str(i), faults[f].name, f) for i, f in enumerate(listed, 1)]
    choices.append(Choice("k", f"none of these; keep my words: {words}", f"words {words}"))
    return Prompt("found-which", "Is it one of these?", (), tuple(choices), (Choice("b", "back", "back"),))


KEPT_IN_WORDS = (
    "Kept in your words; the book does not know it. On the main screen r takes down its repair in your own words too;"
    " or go on with what is proposed."
)


def accept_found(asked: Prompt, typed: str) -> Reply:
    """A number to a found fault; words lead to the causes that are like them."""
    typed = typed.strip()
    if not typed:
        return Reply(say="Nothing was taken.")
    by_key = {choice.key: choice.value for choice in asked.choices}
    if asked.topic == "found":
        named = by_key.get(typed)
        return Reply(view=f"found {typed}") if named is None else Reply((NewEntry("found", {"fault": named}),))
    kind, _, words = typed.partition(" ")
    if kind == "words":
        return Reply((NewEntry("found-other", {"text": words}),), say=KEPT_IN_WORDS)
    return Reply((NewEntry("found", {"fault": typed}),))


def once(book: Book, state: CaseState, reply: Reply) -> Reply:
    """The same, but for what was found already and not repaired since: seen once more it is no news."""
    again = {e.data["fault"] for e in reply.entries if e.kind == "found"} & state.found_and_open(book)
    return Reply(say=f"That is taken down already: {book.faults[min(again)].name}.") if again else reply
