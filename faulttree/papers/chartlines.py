"""A go-to chart as Markdown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from faulttree.papers.chart import FOLLOWING, HAND_OVER, told
from faulttree.papers.inert import inert

Data = Mapping[str, Any]


def as_lines(chart: Data) -> Iterator[str]:
    """The lines of a chart, what was typed by anybody inert."""
    words = told(chart)
    yield from (f"# Go-to chart: {inert(words['title'])}", "", f"{inert(words['gear'])}. {inert(words['says'])}", "")
    yield from (f"Taken as fitted: {inert(words['fitted'])}.", "", f"**{inert(words['minutes'])}.**", "")
    for caution in words["standing_cautions"]:
        yield from (f"{caution['level']}: {inert(caution['text'])}", "")
    yield from ("## How to follow it", "", inert(FOLLOWING), "", "## Before step 1", "")
    yield from ((inert(words["stays"]), "") if words["stays"] else ())
    for question in words["opening"]:
        yield from (f"**{inert(question['ask'])}**", "")
        yield from (*(f"- If {inert(a['label'])}: {inert(a['words'])}" for a in question["answers"]), "")
    yield from ("## Cautions", "")
    yield from (*(f"- {c['level']} **{c['mark']}** {inert(c['text'])}" for c in words["cautions"]), "")
    yield from ("## Steps", "")
    for step in words["steps"]:
        yield from _step(step)
    yield from ("## Checks after a repair", "")
    yield from (f"- **{one['mark']}**: {one['checks']}" for one in words["again"])
    yield from (*(_proving(check) for check in words["proving"]), "", "## Set-ups", "")
    for c in words["set_ups"]:
        things = f" With {inert(c['equipment'])}." if c["equipment"] else ""
        risky = " (HAZARD)" if c["hazard"] else ""
        yield f"- **{c['mark']} {inert(c['name'])}**{risky}: {inert(c['set_up'])} Back: {inert(c['put_back'])}{things}"
    yield from ("", "---", "", f"{inert(words['knowledge'])}.", "")


def _step(step: Data) -> Iterator[str]:
    for line in step["cautions"]:
        yield f"> {line['level']} {inert(line['text'])}"
    about = f" ({inert(step['about'])})" if step["about"] else ""
    yield from ("", f"### {step['number']}. {step['word']}: {inert(step['name'])}{about}", "")
    yield from _paragraphs([step["again"], *step["moves"]])
    if step["ask"]:
        yield from (f"**{inert(step['ask'])}**", "")
    parts = f"Parts: {step['parts']}." if step["parts"] else ""
    yield from _paragraphs([" ".join(step["how"]), parts, step["limit"]])
    if step["due"]:
        named = [" ".join([d["place"], *(f"({m})" for m in d["moves"])]) for d in step["due"]]
        yield from (f"Then, in this order: {inert('; '.join(named))}.", "")
    for o in step["outcomes"]:
        stop = f" **{inert(o['stop'])}**" if o["stop"] else ""
        yield f"- If {inert(o['label'])}:{stop} **{inert(o['go'])}**"
    if step["kind"] == "help":
        yield inert(HAND_OVER)
    yield ""


def _paragraphs(texts: Sequence[str]) -> Iterator[str]:
    for text in texts:
        if text:
            yield from (inert(text), "")


def _proving(check: Data) -> str:
    stops = "".join(f" **{inert(words)}**" for words in check["stops"])
    how = inert(" ".join([check["ask"], *check["how"]]))
    name, about = f"{check['place']} {inert(check['name'])}", inert(check["about"])
    return f"- **{name}** ({about}). {how} Well: {inert(check['good'])}.{stops}"
