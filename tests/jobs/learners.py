"""Scripted learners, who work a drill to its end each in their own way.

Each acts through the drill alone, as a person at the keyboard does. ``knowing`` is told what is hidden, and shows that
it can be found and mended at all.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from itertools import cycle

from faulttree.advice import Situation, Suggestion
from faulttree.advice.barring import bars
from faulttree.belief import Evidence
from faulttree.book.model import Book
from faulttree.drill.acts import Act, Told
from faulttree.drill.advised import KEPT, Advised
from faulttree.drill.bench import Bench
from faulttree.drill.chance import Stream
from faulttree.drill.drawing import Setting
from faulttree.drill.play import Play

GIVES_UP = 0.01
MOST_REPAIRS = 12

Learner = Callable[[Bench, Advised, Setting], Play]


def at_random(bench: Bench, advised: Advised, setting: Setting) -> Play:
    """Does anything, safe or not, until the drill ends or it gives up."""
    play, stream = Play(bench, setting), Stream(setting.seed, "random learner")
    everything = _everything(bench)
    while not play.ended:
        act = Act("help") if stream.happens(GIVES_UP) else everything[stream.below(len(everything))]
        play.take(act)
    return play


def greedy(bench: Bench, advised: Advised, setting: Setting) -> Play:
    """Does whatever of the useful steps takes the fewest minutes now."""
    play = Play(bench, setting)
    _ask_first(play)
    while not play.ended:
        if _is_proved(play):
            _close(play)
            continue
        cheapest = _cheapest(bench, advised, play)
        if cheapest is None:
            play.take(Act("help"))
            continue
        acts = [*(Act("restore", c) for c in cheapest.to_restore), *(Act("set-up", c) for c in cheapest.to_set_up)]
        for act in (*acts, Act("repair" if cheapest.kind == "act" else "check", cheapest.id)):
            if not play.ended:
                play.take(act)
    return play


_CHEAP: OrderedDict[tuple[str, Evidence, Situation], Suggestion | None] = OrderedDict()


def _cheapest(bench: Bench, advised: Advised, play: Play) -> Suggestion | None:
    """What is due, else the useful step of the fewest minutes; drills of one symptom come to the same moments."""
    key = bench.book.family, play.evidence, play.situation
    if key not in _CHEAP:
        advice = bench.advisor.advise(advised.belief(play.evidence), play.situation, ahead=False, words=False)
        useful = [s for s in advice.suggestions if s.kind != "help"]
        _CHEAP[key] = min(useful, key=lambda s: (not s.owed, s.minutes_now, s.id), default=None)
        if len(_CHEAP) > KEPT:
            _CHEAP.popitem(last=False)
    return _CHEAP[key]


def by_advice(bench: Bench, advised: Advised, setting: Setting) -> Play:
    """Does what the advisor's quick choice says."""
    return advised.work(setting)


def adversarial(bench: Bench, advised: Advised, setting: Setting) -> Play:
    """Tries what is unsafe first, wherever it stands; changes parts on suspicion; signs without a proof."""
    play, stream = Play(bench, setting), Stream(setting.seed, "adversarial learner")
    book, ways = bench.book, cycle(("finish", "check", "set-up", "tempted", "repair", "restore", "on"))
    while not play.ended:
        way = next(ways)
        if way == "on":
            _one_step_on(play, advised, stream)
            continue
        names = {"check": book.checks, "set-up": book.conditions, "restore": book.conditions, "repair": book.actions}
        among = list(names.get(way, bench.practice.temptations if way == "tempted" else ("",)))
        if among:
            play.take(Act(way, among[stream.below(len(among))]))
    return play


def knowing(bench: Bench, advised: Advised, setting: Setting) -> Play:
    """Repairs what is hidden, measuring first what has to be measured, and proves it."""
    play, book = Play(bench, setting), bench.book
    _ask_first(play)
    while not play.ended and len(play.repairs) < MOST_REPAIRS:
        ways = list(_to_the_repair(play, book))
        if not ways and not play.situation.owed:
            play.take(Act("help"))  # what is done once and did not hold is for others to find out
        for act in ways:
            if not play.ended and _reach(play, act).stop is None:
                break
        for name in play.situation.owed:
            if not play.ended:
                _reach(play, Act("check", name))
        if not play.ended and _is_proved(play):
            _close(play)
    return play


LEARNERS: dict[str, Learner] = {
    "random": at_random, "greedy": greedy, "advisor": by_advice, "adversarial": adversarial, "knowing": knowing,
}  # fmt: skip


def _everything(bench: Bench) -> list[Act]:
    book = bench.book
    return [
        *(Act("opening", q.id) for q in book.opening), *(Act("check", c) for c in book.checks),
        *(Act("set-up", c) for c in book.conditions), *(Act("restore", c) for c in book.conditions),
        *(Act("set-up", c) for c in book.conditions), *(Act("repair", a) for a in book.actions),
        *(Act("tempted", t) for t in bench.practice.temptations), *(Act("rule-out", c) for c in book.components),
        *(Act("opening", q.id) for q in book.opening), Act("restore-all"), Act("finish"),
    ]  # fmt: skip


def _ask_first(play: Play) -> None:
    for question in play.book.opening:
        play.take(Act("opening", question.id))


def _is_proved(play: Play) -> bool:
    return bool(play.repairs) and play.state.proved(play.book) and not play.state.owed(play.book)


def _close(play: Play) -> None:
    play.take(Act("restore-all"))
    play.take(Act("finish"))


def _one_step_on(play: Play, advised: Advised, stream: Stream) -> None:
    """Goes on a little, so that the next unsafe thing is tried from somewhere else; gives up in the end."""
    unasked = [q.id for q in play.book.opening if q.id not in play.state.opening]
    if unasked:
        play.take(Act("opening", unasked[0]))
    elif stream.happens(GIVES_UP):
        play.take(Act("help"))
    else:
        advised.go_on(play)


def _reach(play: Play, act: Act) -> Told:
    """Sets up what an act needs, then does it."""
    item = play.book.actions[act.id] if act.kind == "repair" else play.book.checks[act.id]
    for before in item.after if act.kind == "check" else ():
        if before not in play.state.ever_done and not play.ended:
            _reach(play, Act("check", before))
    _lift_what_bars(play, item.needs)
    for needs in (play.state.first(play.book), item.needs):
        move = play.bench.advisor.moves.move(play.state.standing, needs)
        for one in (*(Act("restore", c) for c in move.off), *(Act("set-up", c) for c in move.on)):
            if not play.ended:
                play.take(one)
    return play.take(act) if not play.ended else Told(act)


def _lift_what_bars(play: Play, needs: Sequence[str]) -> None:
    """Looks again at what was found bad and speaks against these needs, once since the last repair."""
    wanted = play.bench.advisor.moves.closure(needs)
    for barred, lifts in bars(play.book, play.situation.shown):
        if not wanted.isdisjoint(barred) and lifts not in play.state.done and not play.ended:
            _reach(play, Act("check", lifts))


def _to_the_repair(play: Play, book: Book) -> Iterator[Act]:
    """Repairs of what stands, each after one of the checks that have to show it. Where nothing stands any more and a
    proof is still not passed, a repair done before is done again."""
    standing = sorted(play.gear.now.all) or [f for name in play.repairs for f in book.actions[name].corrects]
    for fault in standing:
        for name in book.faults[fault].corrected_by:
            action = book.actions.get(name)
            if action is None or (action.once and name in play.state.actions):
                continue
            for check in action.after_any:
                if not play.state.ever_done.intersection(action.after_any) and not play.ended:
                    _reach(play, Act("check", check))
            yield Act("repair", name)
