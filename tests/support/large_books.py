"""Families of any size, written as a lead would: parts with four faults each, symptoms over a stretch of parts, checks
and repairs part by part. What they say is made up; how they hang together is that of the shipped ones."""

from __future__ import annotations

from collections.abc import Iterator

from tests.support.small_family import shared_texts

LARGE = "large"
FAULTS_A_PART, PARTS_A_SYMPTOM, BESIDE = 4, 10, 3
"""A symptom comes of ten parts, and of three that it has in common with the one before it."""

PARTS_A_FILE = 50


def large_texts(faults: int, checks: int | None = None, wide: int = 0) -> dict[str, str]:
    """The files of a family with so many faults and checks (two for five faults, where nothing is said).

    ``wide`` faults bring about one symptom more, `everywhere`; without them there is none such.
    """
    parts = max(faults // FAULTS_A_PART, 1)
    count = max(faults * 2 // 5, 1) if checks is None else checks
    texts = {f"{LARGE}/family.yaml": _HEAD, f"{LARGE}/symptoms.yaml": "\n".join(_symptoms(parts, wide))}
    for first in range(0, parts, PARTS_A_FILE):
        some = range(first, min(first + PARTS_A_FILE, parts))
        texts[f"{LARGE}/parts-{first}.yaml"] = "\n".join(_parts(some))
    for first in range(0, count, PARTS_A_FILE):
        some = range(first, min(first + PARTS_A_FILE, count))
        texts[f"{LARGE}/checks-{first}.yaml"] = "\n".join(["checks:", *_checks(some, parts)])
    return {**shared_texts(), **texts}


def overlay_texts(number: int, faults: int) -> dict[str, str]:
    """One overlay over such a family: a rate amended, a check of its own added."""
    part = number % max(faults // FAULTS_A_PART, 1)
    lines = [
        "faults:",
        f"  part-{part}.worn: {{amends: true, rate: {0.1 + number / 1000:g}, basis: shop-history}}",
        "checks:",
        *_check(f"own-look-{number}", "look", f"part-{part}.loose"),
    ]
    return {f"{LARGE}/own-{number}.yaml": "\n".join(lines)}


_HEAD = f"""
family: {{id: {LARGE}, name: Large gear, proof: cycle-test}}
checks:
  cycle-test:
    name: Cycle on jacks
    kind: test
    needs: [gear-powered]
    minutes: 30
    outcomes:
      remains: {{label: The squawk is still there, when: the-squawk}}
      gone: {{label: The gear does what it should, otherwise: true}}
    detects: 0.95
    false_alarm: 0.02
    proof: true
    basis: estimate
"""


def _parts(some: range) -> Iterator[str]:
    yield "components:"
    for n in some:
        yield f"  part-{n}: {{name: Part {n}, ata: 32-30}}"
    yield "faults:"
    for n in some:
        mended = f"basis: estimate, corrected_by: [mend-{n}]"
        for mode, rate in (("worn", 0.2), ("broken", 0.1), ("dirty", 0.15)):
            yield f"  part-{n}.{mode}: {{name: {mode}, rate: {rate + n % 7 / 50:g}, {mended}}}"
        yield (f"  part-{n}.loose: {{name: loose, rate: 0.1, intermittent: {{share: 0.5, shows: 0.4}}, {mended}}}")
    yield "events:"
    for n in some:
        yield f"  part-{n}-bad: {{name: Part {n} is bad, any_of: [{', '.join(_faults(n))}]}}"
    yield "actions:"
    for n in some:
        yield f"  mend-{n}: {{name: Mend part {n}, minutes: {30 + n % 9 * 10}, needs: [on-jacks], basis: estimate}}"


def _faults(part: int) -> list[str]:
    return [f"part-{part}.{mode}" for mode in ("worn", "broken", "dirty", "loose")]


def _symptoms(parts: int, wide: int) -> Iterator[str]:
    yield "symptoms:"
    for number, first in enumerate(range(0, parts, PARTS_A_SYMPTOM)):
        some = range(max(first - BESIDE, 0), min(first + PARTS_A_SYMPTOM, parts))
        yield from _symptom(f"trouble-{number}", [f"part-{n}-bad" for n in some])
    if wide:
        yield from _symptom("everywhere", [f"part-{n}-bad" for n in range(wide // FAULTS_A_PART)])


def _symptom(name: str, causes: list[str]) -> Iterator[str]:
    yield f"  {name}:"
    yield f"    name: Gear shows {name}"
    yield f"    says: [gear shows {name}, {name} again, saw {name}, had {name}, there was {name}]"
    yield f"    when: {{any_of: [{', '.join(causes)}]}}"
    yield "    pilot_advice: [Leave it down and land.]"


def _checks(some: range, parts: int) -> Iterator[str]:
    for n in some:
        part, kind = n % parts, ("ask", "look", "test")[n % 3]
        when = f"part-{part}-bad" if n % 2 else _faults(part)[n // parts % FAULTS_A_PART]
        yield from _check(f"check-{n}", kind, when)


def _check(name: str, kind: str, when: str) -> Iterator[str]:
    needs = {"ask": "", "look": "    needs: [secured]\n", "test": "    needs: [on-jacks]\n"}[kind]
    yield f"  {name}:\n    name: The {name}\n    kind: {kind}\n    ask: What does {name} show?"
    yield f"{needs}    minutes: 5\n    outcomes:\n      bad: {{label: Bad at {name}, when: {when}}}"
    yield "      good: {label: Good, otherwise: true}\n    detects: 0.9\n    false_alarm: 0.05\n    basis: estimate"
