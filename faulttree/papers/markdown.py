"""Papers as Markdown: readable as it is, and inert whatever was typed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from faulttree.case.course import clock, reading_words
from faulttree.chances import about
from faulttree.clean import cleaned
from faulttree.errors import FaulttreeError
from faulttree.papers.chartlines import as_lines
from faulttree.papers.inert import inert

BLANK = "____________________"

Paper = Mapping[str, Any]


def as_markdown(paper: Paper) -> str:
    """A paper as Markdown (CommonMark). Raises FaulttreeError for a paper of another kind."""
    kinds: dict[str, Callable[[Paper], Iterator[str]]] = {
        "record": _record, "handover": _handover, "entry": _entry, "chart": as_lines,
    }  # fmt: skip
    if paper.get("paper") not in kinds:
        raise FaulttreeError(f"there is no paper {paper.get('paper')!r}; it can be {', '.join(kinds)}")
    told = cleaned({key: value for key, value in paper.items() if key != "entries"})
    return "\n".join(kinds[told["paper"]](told)).rstrip() + "\n"


def _list(title: str, lines: Sequence[str]) -> Iterator[str]:
    if lines:
        yield from (f"## {title}", "", *(f"- {line}" for line in lines), "")


def _head(paper: Paper, title: str) -> Iterator[str]:
    gear, state = paper["gear"], paper["state"]
    yield from (f"# {title} {inert(paper['case'])}", "")
    profile = gear["profile"]
    of_profile = f", profile version {profile['version']}" if profile else ""
    voltage = f", {inert(gear['voltage'])}" if gear["voltage"] else ""
    yield from (
        f"Aircraft or job: {inert(paper['job']) or 'not stated'}{of_profile}. {inert(gear['name'])}{voltage}.",
        "",
    )
    if paper["squawk"]:
        yield from (f'Squawk, in the pilot\'s words: "{inert(paper["squawk"])}"', "")
    reason = f": {inert(state['reason'])}" if state["reason"] else ""
    yield from (f"**This case is {state['word']}{reason}.** As of {clock(paper['made_of']['last_local'])}.", "")


def _record(paper: Paper) -> Iterator[str]:
    yield from _head(paper, "Troubleshooting record")
    yield from _outcome(paper)
    yield from _list("Open", [f"{inert(item)}." for item in paper["open_items"]])
    stands = [
        f"{inert(c['name'])}, since {clock(c['since'])}. To put back: {inert(c['restore'])}" for c in paper["standing"]
    ]
    yield from _list("Standing on the aircraft", stands)
    yield from _list("Before the work", _before(paper))
    yield from _list("Findings", [_finding(finding) for finding in paper["findings"]])
    yield from _list(
        "Not done", [f"{inert(s['name'])}: {inert(s['reason'])} (entry {s['entry']})" for s in paper["skipped"]]
    )
    yield from _list("Causes: how likely each was behind the squawk, by all findings", _ranking(paper))
    yield from _list("How the ranking moved", _moved(paper["moves"]))
    yield from _list("Ruled out", [_ruled_out(one) for one in paper["ruled_out"]])
    noted = [f'{clock(n["local"])} {inert(n["who"])}: "{inert(n["text"])}"' for n in paper["notes"]]
    yield from _list("Notes", noted)
    course = [
        f"{line['number']}: {clock(line['local'] or line['at'])} {inert(line['who'])}: {inert(line['words'])}"
        + (" (undone later)" if line["undone"] else "")
        for line in paper["course"]
    ]
    yield from _list("Course of the work, by entry", course)
    cautions = [f"{c['level']}: {inert(c['text'])} Before: {inert('; '.join(c['before']))}." for c in paper["cautions"]]
    yield from _list("Cautions that were shown and acknowledged", cautions)
    yield from _foot(paper)


def _outcome(paper: Paper) -> Iterator[str]:
    cause = paper["cause"]
    lines = [f"Cause named by the mechanic: {inert(cause['name'])}."] if cause["name"] else []
    lines += [f"And behind it too: {inert(also['name'])}." for also in cause["also"]]
    lines += [f'Cause, in the mechanic\'s words: "{inert(words)}".' for words in cause["in_words"]]
    for action in paper["actions"]:
        name = inert(action["name"]) if action["action"] else f'in words: "{inert(action["name"])}"'
        parts = f" Parts: {inert(', '.join(action['parts']))}." if action["parts"] else ""
        lines.append(f"Repair: {name}, {clock(action['local'])}, {inert(action['who'])}.{parts}")
    lines += [
        f"{_proof_word(p)}: {inert(p['name'])}: {inert(p['shown'])}, {clock(p['local'])}." for p in paper["proof"]
    ]
    yield from _list("Cause, repair, proof", lines or ["No cause named, nothing repaired yet."])


def _proof_word(proof: Mapping[str, Any]) -> str:
    return "Proof" if proof["passed"] else "NOT passed" if proof["sure"] else "No proof, not sure"


def _before(paper: Paper) -> list[str]:
    lines = [f"Reported: {inert(symptom['name'])}." for symptom in paper["symptoms"]]
    lines += [f"Denied: {inert(symptom['name'])}." for symptom in paper["denied"]]
    lines += [f"{inert(one['ask'])} {inert(one['answer'])}." for one in paper["opening"]]
    lines += [f"Circumstance: {inert(one['name'])}." for one in paper["circumstances"]]
    if paper["hours"] is not None:
        unsaid = ", assumed, nobody could say" if paper["hours_assumed"] else ""
        lines.append(f"Flight hours since the gear was last known good: {paper['hours']:g}{unsaid}.")
    assumed = [f["name"] for f in paper["gear"]["fitted"] if f["assumed"]]
    if assumed:
        lines.append(f"Taken as usual, not looked up: {inert('; '.join(assumed))}.")
    return lines


def _finding(finding: Mapping[str, Any]) -> str:
    words = inert(finding["name"])
    words += " " if words.endswith("?") else ": "
    words += inert(reading_words(finding["reading"])) + ", so: " if finding["reading"] else ""
    words += inert(finding["shown"])
    words += "" if finding["sure"] else " (not sure)"
    words += "" if finding["counts"] else " (taken back, or not confirmed; does not count)"
    return f"{words}. Entry {finding['entry']}, {clock(finding['local'])}, {inert(finding['who'])}."


def _ranking(paper: Paper) -> list[str]:
    if not paper["ranking"]:
        return []
    repaired = paper["actions"] and not paper["not_known"]
    still = [f", {_percent(c['now'])} that it still stands" if repaired else "" for c in paper["ranking"]]
    lines = [
        f"{_percent(cause['probability'])} {inert(cause['name'])}{now}"
        for cause, now in zip(paper["ranking"], still, strict=True)
    ]
    lines.append(f"{_percent(paper['unlisted'])} something the book does not list")
    return [inert(paper["not_known"]), *lines] if paper["not_known"] else lines


def _percent(share: float) -> str:
    return f"{share * 100:.0f} %" if share >= 0.01 or share == 0 else "under 1 %"


def _moved(moves: Mapping[str, Any]) -> list[str]:
    """In Markdown there is no picture: what led after each step."""
    lines = []
    for i, step in enumerate(moves["steps"]):
        shares = [(cause["values"][i], cause["name"]) for cause in moves["causes"]]
        shares.append((moves["unlisted"][i], "something the book does not list"))
        share, leader = max(shares)
        lines.append(f"Entry {step['entry']}, {inert(step['label'])}: {_percent(share)} {inert(leader)}")
    return lines


def _ruled_out(one: Mapping[str, Any]) -> str:
    by = "; ".join(f"{inert(b['shown'])} (entry {b['entry']})" for b in one["by"])
    told = f" By: {by}." if by else ""
    return f"{inert(one['name'])}: from {_percent(one['was'])} to {_percent(one['now'])}.{told}"


def _handover(paper: Paper) -> Iterator[str]:
    yield from _head(paper, "Handover sheet")
    now = paper["now"]
    stands = [
        f"**{inert(c['name'])}**{' (risky)' if c['hazard'] else ''}, since {clock(c['since'])}. "
        f"To put back: {inert(c['restore'])}"
        for c in now["standing"]
    ]
    yield from _list("The aircraft now", stands or ["Nothing stands: as it flies, by the log. Go and look."])
    if now["step"]:
        yield from (f"Step in hand: {inert(now['step']['name'])} ({inert(now['step']['where'])}).", "")
    yield from _list("Leave alone", [inert(item) for item in paper["do_not_touch"]])
    yield from _list("Open", [f"{inert(item)}." for item in paper["open_items"]])
    following = []
    for step in paper["next"]:
        wants = inert(", ".join(step["equipment"])) or "nothing to fetch"
        people = f"{step['people']} people" if step["people"] > 1 else "one person"
        following.append(f"{inert(step['name'])}: {about(step['minutes_now'])}, {people}; {wants}")
    yield from _list("Next", following)
    causes = [f"{_percent(cause['probability'])} {inert(cause['name'])}" for cause in paper["top_causes"]]
    if paper["settled"]:
        yield from _list("How it was closed", [inert(paper["settled"])])
    else:
        yield from _list("Likely causes", [inert(paper["not_known"])] if paper["not_known"] else causes)
    yield from _list("Lately", [inert(line) for line in paper["lately"]])
    yield from _list("Notes", [f'{inert(n["who"])}: "{inert(n["text"])}"' for n in paper["notes"]])
    yield from (f"Handed over by: {BLANK}   Taken over by: {BLANK}   Date: {BLANK}", "")
    yield from _foot(paper)


def _entry(paper: Paper) -> Iterator[str]:
    yield from (f"# DRAFT maintenance entry, case {inert(paper['case'])}", "")
    yield from (f"{inert(paper['rules']['title'])}. {inert(paper['rules']['note'])}", "")
    yield from _list("Work performed", [inert(sentence) for sentence in paper["description"]])
    yield from _list("References", [inert(one) for one in paper["references"]])
    yield from _list("Instruments", [inert(one) for one in paper["instruments"]])
    yield from _list("Before it is signed", [inert(one) for one in paper["remarks"]])
    yield from _list("Left out", [inert(one) for one in paper["left_out"]])
    fields = [f"{inert(f['label'])}: {inert(f['value']) or BLANK} ({inert(f['why'])})" for f in paper["fields"]]
    yield from _list("Fields", fields)
    yield from _foot(paper)


def _foot(paper: Paper) -> Iterator[str]:
    made, knowledge = paper["made_of"], paper["knowledge"]
    yield from ("---", "")
    yield from (f"{made['entries']} entries, last digest {inert(made['digest'])}", "")
    case = inert(paper["case"])
    yield from (
        f"To see that nothing was changed since: faulttree cases verify {case} --digest (the digest above).",
        "",
    )
    laid = [", ".join(inert(one[key]) for key in ("name", "digest") if one[key]) for one in knowledge["overlays"]]
    over = "".join(f" Laid over it: {words}." for words in laid)
    yield from (f"Knowledge {inert(knowledge['version'])}, {inert(knowledge['digest'])}.{over}", "")
    yield from (f"{caution['level']}: {inert(caution['text'])}\n" for caution in paper["standing_cautions"])
