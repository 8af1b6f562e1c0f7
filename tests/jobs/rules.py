"""What no advice may do, whatever the evidence: each rule a function that tells breaches in words.

``breaches(facts, evidence, situation, advice)`` runs all of them. They are worked out from the book, the evidence and
the conditions alone and share no code with the program's advice, moves or gates; what is due after a repair is worked
out here once more too. Facts of the trade (UP is selected on jacks only, a tripped breaker is not pushed in twice):
common practice, no source.

Not to be seen on advice, and so not here: that cautions are acknowledged before the step and that papers name them
(dialogue and record); that a limit is never invented (readings); that a case closes only once everything is put back
(the job's end in :mod:`tests.jobs.run` asks the case); that nothing signs (papers). That a switch is not set for a lamp
while its lock is unproved cannot be told from an action either: here its caution has to be shown.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from itertools import pairwise, takewhile

from faulttree.advice import Advice, Situation
from faulttree.belief import Answer, Belief, Did, Evidence, Found
from faulttree.book.model import Action, Book, Check
from tests.jobs.scene import Facts, Scene, against

ON_JACKS = "on-jacks"
NEVER_UP_ON_WHEELS = "never-prove-ground-safety-on-wheels"
UP_SELECTED = re.compile(r"\bUP selected\b|\bselect(?:s|ed|ing)?\s+UP\b")
RESETS = re.compile(r"\breset\b", re.IGNORECASE)
NEVER_WRITTEN = re.compile(r"airworth|return\w*[ -]to[ -]service|overhaul|rebuil[dt]", re.IGNORECASE)
ROUNDING = 1e-6


Rule = Callable[[Scene], Iterator[str]]


def kinds_are_known(scene: Scene) -> Iterator[str]:
    """A suggestion is a question, a check, an action or help: nothing is offered to be deferred.

    None is there twice, but for a check that has to come before several others.
    """
    seen: set[tuple[str, str, str | None]] = set()
    for s in scene.advice.suggestions:
        check = scene.book.checks.get(s.id)
        known = {
            "ask": check is not None and check.kind == "ask", "check": check is not None and check.kind != "ask",
            "act": s.id in scene.book.actions, "help": True,
        }  # fmt: skip
        if not known.get(s.kind, False):
            yield f"{s.id} is no {s.kind} of the book"
        if (s.kind, s.id, s.leads_to) in seen:
            yield f"{s.id} is suggested twice"
        seen.add((s.kind, s.id, s.leads_to))


def help_is_there(scene: Scene) -> Iterator[str]:
    """Handing the job over is always among the suggestions, once."""
    count = sum(s.kind == "help" for s in scene.advice.suggestions)
    if count != 1:
        yield f"help is there {count} times"


def cautions_are_complete(scene: Scene) -> Iterator[str]:
    """A step shows the cautions of itself, of the conditions that it needs, sets up or restores, of its parts and,
    unless it is a plain question, of the symptoms reported."""
    for s, item in scene.steps:
        touched = scene.needs(s, item).union(s.to_set_up, s.to_restore)
        wanted = set(scene.facts.own_cautions(s.kind, item))
        wanted.update(*(scene.book.conditions[c].cautions for c in touched))
        if s.kind != "ask":
            wanted.update(*(scene.book.symptoms[symptom].cautions for symptom in scene.symptoms))
        missing = wanted - set(s.cautions)
        if missing:
            yield f"{s.id} lacks {', '.join(sorted(missing))}"


def warnings_come_first(scene: Scene) -> Iterator[str]:
    """WARNINGs stand before CAUTIONs, those before NOTEs."""
    for s in scene.advice.suggestions:
        levels = [("WARNING", "CAUTION", "NOTE").index(scene.book.cautions[c].level) for c in s.cautions]
        if levels != sorted(levels):
            yield f"{s.id} shows its cautions out of order"


def forced_conditions_come_first(scene: Scene) -> Iterator[str]:
    """While something is wanted before all else, a step sets it up, or is a question that moves nothing."""
    for s, _ in scene.steps:
        late = [c for c in scene.situation.first if c not in s.to_set_up and c not in scene.situation.standing]
        if late and (s.kind != "ask" or s.to_set_up or s.to_restore):
            yield f"{s.id} does not set up {', '.join(late)}, which is wanted before all else"


def nothing_unproposed(scene: Scene) -> Iterator[str]:
    """No check or condition that may only be recorded is suggested, needed or led to; flying never is."""
    for s, item in scene.steps:
        checks = [item, *([scene.book.checks[s.leads_to]] if s.leads_to in scene.book.checks else [])]
        if any(isinstance(check, Check) and not check.proposed for check in checks):
            yield f"{s.id} may be recorded, never suggested"
        never = [c for c in scene.needs(s, item).union(s.to_set_up) if not scene.book.conditions[c].proposed]
        if never:
            yield f"{s.id} wants {', '.join(never)}, which is never suggested"


def prerequisites_are_done(scene: Scene) -> Iterator[str]:
    """What has to come before a check was done at some time, or is the step suggested now."""
    done = {entry.check for entry in scene.evidence.entries if isinstance(entry, Answer)}
    for s, item in scene.steps:
        if isinstance(item, Check) and not set(item.after) <= done:
            yield f"{s.id} comes before {', '.join(sorted(set(item.after) - done))}"
        if s.leads_to is not None and s.id not in _before(scene.book, s.leads_to):
            yield f"{s.id} need not come before {s.leads_to}"


def shown_before_repaired(scene: Scene) -> Iterator[str]:
    """No repair comes before one of the checks that have to show it was done, or the fault was seen."""
    done = {entry.check for entry in scene.evidence.entries if isinstance(entry, Answer)} | scene.situation.done
    seen = {entry.fault for entry in scene.evidence.entries if isinstance(entry, Found)}
    for s, item in scene.steps:
        if not isinstance(item, Action):
            continue
        wanted = [check for check in item.after_any if not against(scene, scene.book.checks[check])]
        if wanted and done.isdisjoint(item.after_any):
            yield from () if seen & set(item.corrects) else (f"{s.id} comes before any of {', '.join(item.after_any)}",)


def nothing_against_it(scene: Scene) -> Iterator[str]:
    """No step needs a condition that something last found speaks against."""
    for s, item in scene.steps:
        yield from (f"{s.id} is suggested before {name} lifts what was found" for name in against(scene, item))


def _before(book: Book, name: str) -> set[str]:
    """Checks that may have to come before a check or an action."""
    found: set[str] = set()
    waiting = list(book.checks[name].after if name in book.checks else book.actions[name].after_any)
    while waiting:
        one = waiting.pop()
        if one not in found:
            found.add(one)
            waiting += book.checks[one].after
    return found


def moves_can_be_made(scene: Scene) -> Iterator[str]:
    """Restoring and then setting up what is told, one by one, is allowed at each move and leads to the need."""
    for s, item in scene.steps:
        standing = set(scene.situation.standing)
        for name in s.to_restore:
            yield from wrong_move(scene.book, s.id, name, standing, "restored")
            standing.discard(name)
        for name in s.to_set_up:
            yield from wrong_move(scene.book, s.id, name, standing, "set up")
            standing.add(name)
        missing = scene.needs(s, item) - standing
        if missing:
            yield f"{s.id} needs {', '.join(sorted(missing))}, which does not stand then"


def wrong_move(book: Book, step: str, name: str, standing: set[str], verb: str) -> Iterator[str]:
    """What forbids setting up or restoring one condition while these stand."""
    condition = book.conditions[name]
    bars = standing.intersection(condition.not_while)
    if (name in standing) != (verb == "restored"):
        yield f"{step}: {name} is {verb} and stands {'not' if verb == 'restored' else 'already'}"
    if verb == "set up":
        bars |= {other for other in standing if name in book.conditions[other].excludes}
        bars |= standing.intersection(condition.excludes) | (set(condition.implies) - standing)
    else:
        bars |= {other for other in standing if name in book.conditions[other].implies}
    if bars:
        yield f"{step}: {name} cannot be {verb} because of {', '.join(sorted(bars))}"


def people_and_equipment(scene: Scene) -> Iterator[str]:
    """A step tells all people and equipment that it takes; unless it is due, they are at hand."""
    for s, item in scene.steps:
        sets_up = [scene.book.conditions[c] for c in s.to_set_up]
        needed = [scene.book.conditions[c] for c in scene.needs(s, item)]
        people = max([item.people, *(c.people for c in (*sets_up, *needed))])
        equipment = set(item.equipment).union(*(c.equipment for c in sets_up))
        if s.people < people or not equipment <= set(s.equipment):
            yield f"{s.id} takes more people or equipment than it tells"
        few = scene.situation.people is not None and people > scene.situation.people
        if not s.owed and (few or equipment & scene.situation.lacking):
            yield f"{s.id} takes people or equipment that are not at hand"


def hazards_have_their_people(scene: Scene) -> Iterator[str]:
    """A hazard is never set up by fewer people than it needs."""
    for s, _ in scene.steps:
        hazards = [c for c in map(scene.book.conditions.__getitem__, s.to_set_up) if c.hazard]
        yield from (f"{s.id} sets up {c.id} with {s.people}" for c in hazards if s.people < c.people)


def owed_comes_first(scene: Scene) -> Iterator[str]:
    """What is due after a repair is what the book's follow-ups say, and comes before all else, in that order.

    One that has to wait for another of them, and all after it, are suggested only then.
    """
    if list(scene.situation.owed) != scene.due:
        yield f"due is {scene.due}, not {list(scene.situation.owed)}"
    done = {entry.check for entry in scene.evidence.entries if isinstance(entry, Answer)}
    ready = list(takewhile(lambda check: done.issuperset(scene.book.checks[check].after), scene.due_now))
    free = list(takewhile(lambda check: not against(scene, scene.book.checks[check]), ready))
    if len(free) < len(ready):
        lifting = dict.fromkeys(against(scene, scene.book.checks[ready[len(free)]]))
        ready = [*free, *(check for check in lifting if check not in (*free, *scene.since_action))]
    first = scene.advice.suggestions[: len(ready)]
    if [s.id for s in first] != ready or not all(s.owed for s in first):
        yield f"due is {scene.due}, suggested first {[s.id for s in first]}"
    if any(s.owed for s in scene.advice.suggestions[len(ready) :]):
        yield "something is called due that is not"


def proofs_follow_actions(scene: Scene) -> Iterator[str]:
    """A proof is suggested only when it is due for an action: no job ends on "could not duplicate"."""
    for s, item in scene.steps:
        if isinstance(item, Check) and item.proof and s.id not in scene.due:
            yield f"{s.id} is suggested with no action since the last failed proof"


def nothing_repaired_while_owed(scene: Scene) -> Iterator[str]:
    """No action while a follow-up is due."""
    if scene.due_now:
        yield from (f"{s.id} is suggested while {scene.due_now[0]} is due" for s, _ in scene.steps if s.kind == "act")


def no_check_twice(scene: Scene) -> Iterator[str]:
    """A check done since the last action is not suggested again."""
    yield from (f"{s.id} was done already" for s, _ in scene.steps if s.kind != "act" and s.id in scene.since_action)


def up_on_jacks_only(scene: Scene) -> Iterator[str]:
    """UP is never selected on the wheels, nor the ground-safety switch proved there, nor power let into the gear.

    Read off the book three ways: the words of a step that select UP, its own caution against doing so on the wheels,
    and any condition with power that moves the gear (one that excludes the motor breaker pulled).
    """
    powered = {c.id for c in scene.book.conditions.values() if "motor-breaker-pulled" in c.excludes}
    for s, item in scene.steps:
        words = " ".join([item.name, *item.how, *([item.ask] if isinstance(item, Check) and item.ask else [])])
        stands = scene.needs(s, item).union(s.to_set_up)
        risky = bool(UP_SELECTED.search(words)) or NEVER_UP_ON_WHEELS in item.cautions or powered & stands
        if s.kind != "ask" and risky and ON_JACKS not in stands:
            yield f"{s.id} moves the gear or selects UP on the wheels"


def no_second_reset(scene: Scene) -> Iterator[str]:
    """An action that resets something is never suggested once it was done in the job."""
    done = {entry.action for entry in scene.evidence.entries if isinstance(entry, Did)}
    for s, item in scene.steps:
        if s.kind == "act" and s.id in done and RESETS.search(f"{item.id} {item.name}"):
            yield f"{s.id} is suggested a second time"


def words_never_written(scene: Scene) -> Iterator[str]:
    """No name and no reason says that the aircraft may fly, or that something was overhauled or rebuilt."""
    for s in scene.advice.suggestions:
        for text in (s.name, s.why, *(outcome.then for outcome in s.outcomes)):
            if NEVER_WRITTEN.search(text):
                yield f"{s.id} says: {text}"


def outcomes_add_up(scene: Scene) -> Iterator[str]:
    """A check tells the chance of each of its outcomes, in the book's order; they add up to one."""
    for s, item in scene.steps:
        if isinstance(item, Check):
            chances = [outcome.probability for outcome in s.outcomes]
            if [outcome.id for outcome in s.outcomes] != [outcome.id for outcome in item.outcomes]:
                yield f"{s.id} does not tell its outcomes"
            elif abs(sum(chances) - 1.0) > ROUNDING or min(chances) < -ROUNDING:
                yield f"{s.id} has outcomes of {chances}"


def minutes_make_sense(scene: Scene) -> Iterator[str]:
    """Minutes are finite and not negative; those of a step are its own with all that it sets up and restores."""
    for s in scene.advice.suggestions:
        if not all(math.isfinite(value) and value >= 0 for value in (s.expected_minutes, s.minutes_now, s.waits)):
            yield f"{s.id} takes {s.minutes_now} now, {s.waits} of waiting, {s.expected_minutes} to the end"
    for s, item in scene.steps:
        conditions = scene.book.conditions
        now = item.minutes + sum(conditions[c].set_up_minutes for c in s.to_set_up)
        now += sum(conditions[c].restore_minutes for c in s.to_restore)
        if abs(now - s.minutes_now) > ROUNDING:
            yield f"{s.id} takes {now} minutes now, and tells {s.minutes_now}"
    to_go = scene.advice.to_go
    if to_go is not None and not (0 <= to_go.mean < math.inf and 0 <= to_go.p50 <= to_go.p80 < math.inf):
        yield f"minutes to go are {to_go}"


def best_first(scene: Scene) -> Iterator[str]:
    """Expected minutes do not fall down the list."""
    minutes = [s.expected_minutes for s in scene.advice.suggestions]
    if any(later < earlier - ROUNDING for earlier, later in pairwise(minutes)):
        yield "suggestions do not stand best first"


RULES: tuple[Rule, ...] = (
    kinds_are_known, help_is_there, cautions_are_complete, warnings_come_first, forced_conditions_come_first,
    nothing_unproposed, prerequisites_are_done, shown_before_repaired, nothing_against_it, moves_can_be_made,
    people_and_equipment, hazards_have_their_people, owed_comes_first, proofs_follow_actions,
    nothing_repaired_while_owed, no_check_twice,
    up_on_jacks_only, no_second_reset, words_never_written, outcomes_add_up, minutes_make_sense, best_first,
)  # fmt: skip


def breaches(
    facts: Facts, evidence: Evidence, situation: Situation, advice: Advice, belief: Belief | None = None
) -> list[str]:
    """Everything that an advice does against the rules, by rule and in words. Without ``belief`` no proof may wait."""
    scene = Scene(facts, evidence, situation, advice, belief)
    return [f"{rule.__name__}: {told}" for rule in RULES for told in rule(scene)]
