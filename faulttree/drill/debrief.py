"""After a drill: the learner's path beside the advisor's, step by step, and what to practise next. Plain data."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, field
from textwrap import shorten
from typing import Any

from faulttree.belief import Belief
from faulttree.book.drills import Lesson
from faulttree.book.model import Book
from faulttree.chances import in_words
from faulttree.drill.acts import Act, Told
from faulttree.drill.advised import Advised
from faulttree.drill.hindsight import shortest
from faulttree.drill.instead import Instead, instead
from faulttree.drill.play import HELP, SOLVED, Play

A_CAUTION = 70
"""Signs of a caution where it is only named."""

SUSPECT, CLEARED = 0.05, 0.01
"""Probability from which a part counts as suspect, and below which as cleared."""

STILL_POSSIBLE, HARDLY_MOVED = 0.02, 0.25
"""A part marked as cleared was misread if it is at least so probable, and more than this share of what it was."""

MANY_MINUTES = 1.25
"""Times the advisor's minutes from which it is said that it took long."""


@dataclass(frozen=True, slots=True)
class Line:
    """One step of a path: minutes on the clock when it was done, its own, what it was, what it settled, what was
    wrong with it, ``why`` the advisor took it, and the ``kind`` of act."""

    at: float
    minutes: float
    what: str
    settled: str = ""
    wrong: tuple[str, ...] = ()
    hazard: bool = False
    why: str = ""
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Score:
    """What is kept of a drill. ``best`` are the advisor's minutes, ``shortest`` those of whoever knows the cause,
    ``lost`` what a squawk costs that comes back, ``worked`` the minutes before anybody else was called in."""

    ended: str
    minutes: float
    best: float
    shortest: float | None
    hazards: int
    best_hazards: int
    unsafe: int
    missed: int
    claimed_wrong: int
    wasted: int
    misread: int
    unplanned: int
    wrong_cause: int
    lost: float = 0.0
    worked: float = 0.0
    out_of_order: int = 0
    needless: int = 0

    def as_data(self) -> dict[str, Any]:
        """As plain data."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class Debrief:
    """Everything that is shown after a drill. ``hidden`` are names of what was wrong, ``kind`` what made it
    hard, or what a fixed drill is for; ``practise`` three lines; ``instead`` where another step was the better one."""

    hidden: tuple[str, ...]
    kind: str
    score: Score
    learner: tuple[Line, ...]
    advisor: tuple[Line, ...]
    practise: tuple[str, ...]
    lessons: tuple[str, ...] = ()
    stops: tuple[str, ...] = field(default_factory=tuple)
    instead: tuple[Instead, ...] = ()


def debrief(play: Play, advised: Advised) -> Debrief:
    """Works the same drill by the advisor and holds the two beside each other."""
    book, hidden = play.book, play.setting.hidden
    best = advised.work(play.setting)
    told = tuple(f"{book.faults[f].name}{' (comes and goes)' if f in hidden.now.sleeping else ''}"
                 for f in sorted(hidden.now.all)) or ("something that this book does not list",)  # fmt: skip
    learner = tuple(_lines(play, advised))
    score = _score(play, best, learner)
    practise, lessons = _practise(play, score)
    stops = tuple(t.stop.reason for t in play.told if t.stop is not None and t.stop.danger)
    scenario = play.bench.practice.scenarios.get(play.setting.scenario)
    kind = play.setting.kind if scenario is None else scenario.note
    better = instead(play, advised)
    return Debrief(told, kind, score, learner, tuple(_lines(best, advised)), practise, lessons, stops, better)


def _score(play: Play, best: Play, learner: Sequence[Line]) -> Score:
    hidden = play.setting.hidden
    proofs = play.state.proofs(play.book)
    way = None if hidden.unlisted else shortest(play.book, play.bench.advisor.moves, proofs, hidden.now.all)
    return Score(
        ended=play.ended, minutes=play.minutes, best=best.minutes, shortest=way, hazards=play.hazards,
        best_hazards=best.hazards, unsafe=sum(t.stop is not None and t.stop.danger for t in play.told),
        missed=sum(len(t.missed) for t in play.told), claimed_wrong=sum(len(t.wrong) for t in play.told),
        wasted=sum(t.wasted for t in play.told), misread=sum(not MISTAKES.isdisjoint(line.wrong) for line in learner),
        unplanned=sum(len(t.unplanned) for t in play.told),
        wrong_cause=sum(_names_wrong(play, t.act) for t in play.told if t.stop is None), lost=play.lost,
        worked=play.minutes - (play.bench.advisor.figures.help if play.ended == HELP else 0.0),
        out_of_order=sum(t.stop is not None and t.stop.out_of_order for t in play.told),
        needless=sum(len(t.needless) for t in play.told),
    )  # fmt: skip


MISREAD, MISJUDGED = "the findings had not ruled that out", "the value means something else"
MISTAKES = frozenset([MISREAD, MISJUDGED])


def _names_wrong(play: Play, act: Act) -> bool:
    """Whether a cause was named with a repair that is not among what is wrong."""
    return act.kind == "repair" and bool(act.cause) and act.cause not in play.setting.hidden.now.all


# -- the timeline ---------------------------------------------------------------------------------------


def _lines(play: Play, advised: Advised) -> Iterator[Line]:
    """The path of a drill, played once more so that belief is known before and after each act."""
    again, helping = Play(play.bench, play.setting), play.bench.advisor.figures.help
    first = belief = advised.belief(again.evidence)
    for place, act in enumerate(play.acts):
        told = again.take(act)
        before = belief
        if told.stop is None and act.kind in ("check", "repair"):
            belief = advised.belief(again.evidence)
        if told.stop is None and act.kind == "rule-in":
            continue
        hazard = act.kind == "set-up" and told.stop is None and play.book.conditions[act.id].hazard
        settled = _settled(play, told, before, belief)
        wrong = tuple(_wrong(play, told, first, before))
        helped = helping if act.kind == "help" else 0.0  # it comes after the call
        why = play.whys.get(place, "")
        yield Line(
            again.minutes - helped, told.minutes, _what(play, act), settled, wrong, hazard, why, act.kind,
        )  # fmt: skip
    if play.ended == HELP and (not play.acts or play.acts[-1].kind != "help"):
        yield Line(again.minutes - helping, 0.0, "A specialist was called in: it took too many steps")


def _what(play: Play, act: Act) -> str:
    book, kind, name = play.book, act.kind, act.id
    if kind == "opening":
        return next(q.ask for q in book.opening if q.id == name)
    if kind == "set-up":
        return f"Set up: {book.conditions[name].name}"
    if kind == "restore":
        return book.conditions[name].put_back
    if kind == "check":
        return book.checks[name].name
    if kind == "repair":
        return f"Repair: {book.actions[name].name}"
    if kind == "tempted":
        return play.bench.practice.temptations[name].name
    if kind == "judge":
        said = next((o.label for o in book.checks[name].outcomes if o.id == act.cause), act.cause)
        return f"Said that the value means: {said}"
    return f"Ruled out: {book.components[name].name}" if kind == "rule-out" else PLAIN_WORDS.get(kind, kind)


PLAIN_WORDS = {"restore-all": "Everything put back", "finish": "Called it done", "help": "Called in a specialist"}


def _settled(play: Play, told: Told, before: Belief, after: Belief) -> str:
    """What an act showed, and what follows from it."""
    act, book = told.act, play.book
    if told.stop is not None:
        return f"Stopped. {told.stop.reason}"
    if act.kind == "finish":
        return "The squawk is gone for good" if play.ended == SOLVED else "The squawk came back: the cause was asleep"
    if act.kind == "repair":
        if told.wasted:
            return "Mended nothing that was wrong"
        return "Was wrong, and is mended" if told.held else "Was wrong, and the repair did not hold"
    if act.kind != "check":
        return ""
    label = next(o.label for o in book.checks[act.id].outcomes if o.id == told.outcome)
    cleared = [n for n, p in before.components.items() if p >= SUSPECT and after.components[n] < CLEARED]
    top, chance = max(after.components.items(), key=lambda item: (item[1], item[0]))
    parts = [label]
    if cleared:
        parts.append(f"clears {', '.join(book.components[n].name.lower() for n in cleared[:3])}")
    parts.append(f"now first: {book.components[top].name.lower()}, {in_words(chance)}")
    return "; ".join(parts)


def _in_short(book: Book, cautions: Sequence[str]) -> str:
    """The first sentences of cautions, so that who reads it knows which they were."""
    first = [book.cautions[name].text.partition(". ")[0].rstrip(".") for name in cautions]
    return "; ".join(shorten(words, A_CAUTION, placeholder=" ...") for words in first)


def _wrong(play: Play, told: Told, first: Belief, belief: Belief) -> Iterator[str]:
    act, book = told.act, play.book
    if told.stop is not None:
        if told.stop.danger or told.stop.out_of_order:
            yield "unsafe" if told.stop.danger else "out of order"
        return
    if told.misjudged:
        yield MISJUDGED
    if told.missed:
        count = f"{len(told.missed)} cautions" if len(told.missed) > 1 else "a caution"
        yield f"{count} not named: {_in_short(book, told.missed)}"
    if told.wrong:
        yield f"named a caution that does not apply: {_in_short(book, told.wrong)}"
    if told.wasted:
        yield "a good part replaced" if book.actions[act.id].parts else "work on what was good"
    if told.unplanned:
        yield f"left out of the follow-up: {', '.join(book.checks[c].name for c in told.unplanned[:2])}"
    if told.needless:
        yield f"named as follow-up and not due: {', '.join(book.checks[c].name for c in told.needless[:2])}"
    if _names_wrong(play, act):
        yield "another cause was named than the one that it mended" if not told.wasted else "that was not the cause"
    if act.kind == "rule-out" and _misread(act.id, first, belief):
        yield MISREAD


def _misread(part: str, first: Belief, belief: Belief) -> bool:
    now, was = belief.components[part], first.components[part]
    return now >= STILL_POSSIBLE and now > HARDLY_MOVED * was


# -- what to practise -----------------------------------------------------------------------------------

WORDS = {
    "unsafe": "Before you touch anything say what has to stand, and in which order. Steps that were stopped: {count}.",
    "missed": "Say the cautions before the step, not after it. Cautions left out: {count}.",
    "wasted": "Measure before you change a part. Repairs that mended nothing wrong: {count}.",
    "misread": "Rule out only what a finding rules out. Parts cleared that were still possible: {count}.",
    "unplanned": "Know what follows a repair before you begin it. Follow-up checks named wrong: {count}.",
    "out_of_order": "Say what comes before a step, then do that first. Steps out of order: {count}.",
    "asleep": "A good result does not clear a fault that comes and goes: provoke it before you prove the repair.",
    "help": "Half-split before you call for help: one reading in the middle tells more than three at the ends.",
    "wrong_cause": "Name the cause only when something has shown it. Causes named that were not there: {count}.",
    "slow": "Take the questions and looks that cost nothing first, and do all that one set-up allows before the next.",
    "hazards": "Plan what needs the jacks as one block: risky set-ups more than the advisor had: {count}.",
    "claimed_wrong": "A caution that does not apply hides one that does. Named so: {count}.",
    "faster": "As quick as the advisor. Try the next level, or another kind of gear.",
    "proof": "Say before each check what either result would make of your list, then look whether it did.",
    "record": "Write down as found before you move anything: the next drill asks for the same calm.",
}
"""What to practise next, by what went wrong; the last three are for whoever did well."""

HEAVY = ("unsafe", "missed", "wasted", "misread", "asleep", "wrong_cause", "help", "unplanned", "slow", "hazards",
         "out_of_order", "claimed_wrong")  # fmt: skip
SPARE = ("faster", "proof", "record")
LINES = 3


def _practise(play: Play, score: Score) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Three lines of what to practise, and the lessons that are good against it."""
    counts = Counter(
        {
            "unsafe": score.unsafe, "missed": score.missed, "wasted": score.wasted, "misread": score.misread,
            "unplanned": score.unplanned + score.needless, "out_of_order": score.out_of_order,
            "wrong_cause": score.wrong_cause, "claimed_wrong": score.claimed_wrong,
            "hazards": max(score.hazards - score.best_hazards, 0), "help": int(score.ended == HELP),
            "asleep": int(score.ended not in (HELP, SOLVED)),
            "slow": int(score.ended != HELP and score.minutes > MANY_MINUTES * score.best),
        }
    )  # fmt: skip
    wanting = [name for name in HEAVY if counts[name]]
    spare = SPARE if not wanting else SPARE[1:]
    chosen = [*wanting, *spare, *(name for name in SPARE if name not in spare)][:LINES]
    lines = tuple(WORDS[name].format(count=counts[name]) for name in chosen)
    lessons = play.bench.practice.lessons.values()
    found = [lesson_against(name, lessons, play.setting.seed) for name in wanting]
    return lines, tuple(dict.fromkeys(name for name in found if name is not None))[:LINES]


def lesson_against(what: str, lessons: Iterable[Lesson], seed: int) -> str | None:
    """A lesson that is good against it before all else, which `helps` names first; of several another in each drill."""
    able = [lesson for lesson in lessons if what in lesson.helps]
    if not able:
        return None
    place = min(lesson.helps.index(what) for lesson in able)
    best = [lesson.id for lesson in able if lesson.helps.index(what) == place]
    return best[seed % len(best)]
