"""Knowledge files of any size, each full of one thing that is wrong or much: what somebody would write to keep a reader
busy. The book beside them is the sound one of the reader's tests."""

from __future__ import annotations

KINDS = {
    "unknown names": ("events:\n", "  kk{n}: {{name: x, any_of: [a-a{n}]}}\n"),
    "a row of events": ("events:\n", "  e{n}: {{name: x, any_of: [e{m}]}}\n"),
    "a row of conditions": (
        "conditions:\n",
        "  cc{n}: {{name: X, set_up: {{words: a, minutes: 1}}, basis: estimate, "
        "restore: {{words: b, minutes: 1}}, excludes: [cc{n}1], implies: [cc{m}]}}\n",
    ),
    "other sections": ("", "k{n}: 1\n"),
    "other spaces": ("faults:\n", "\u00a0\n"),
    "tabs": ("cautions:\n", "\tw{n}: y\n"),
    "anchors": ("faults:\n", "  a{n}: &a{n} [*a{n}, *a{n}]\n"),
    "aliases": ("cautions:\n", "  w{n}: &x{n} *x\n"),
    "tags": ("cautions:\n", "  w{n}: !!python/x y\n"),
    "brackets": ("faults:\n", "  a: [\n"),
    "quotes left open": ("faults:\n", "  a{n}: 'it's\n"),
    "keys without a colon": ("faults:\n", "  a{n}\n"),
    "keys alone": ("faults:\n", "  ? {n}\n"),
    "a list for a table": ("faults: [", "{n}, "),
    "per cent": ("faults:\n", "  a{n}: {{rate: 95%, name: x}}\n"),
    "components": ("components:\n", "  cmp{n}: {{name: C{n}}}\n"),
    "components of no leg": ("components:\n", "  cmp{n}: {{name: C{n}, each_leg: true}}\n"),
    "faults of one component": (
        "components: {cc: {name: C}}\nfaults:\n",
        "  cc.f{n}: {{name: a{n}, rate: 0.1, basis: estimate, corrected_by: [mend]}}\n",
    ),
    "faults of no component": (
        "faults:\n", "  c{n}.x: {{name: a, rate: 0.1, basis: estimate, corrected_by: [z]}}\n",
    ),
    "the same fault": ("faults:\n", "  motor.dead: {{name: a, rate: 0.1}}\n"),
    "amends of nothing": ("faults:\n", "  q{n}: {{amends: true, reason: x}}\n"),
    "retires of nothing": ("faults:\n", "  q{n}: {{retires: true, reason: x}}\n"),
    "symptoms of nothing": ("symptoms:\n", "  s{n}: {{name: a{n}, says: [b{n}], when: nope{n}}}\n"),
    "checks of nothing": (
        "checks:\n",
        "  k{n}: {{name: a, kind: look, ask: x, "
        "outcomes: {{a: {{label: A, when: n{n}}}, b: {{label: B, otherwise: true}}}}}}\n",
    ),
    "chains of nothing": ("chains:\n", "  ch{n}: {{name: x, elements: [{{faults: [a{n}], tap: t, name: z}}]}}\n"),
    "limits in no unit": ("limits:\n", "  l{n}: {{name: x, unit: furlong, where: y}}\n"),
    "cautions of no level": ("cautions:\n", "  w{n}: {{level: LOUD, text: x}}\n"),
}  # fmt: skip
"""By what it is full of: how the file begins, and a line of it, with its number ``n`` and the next one ``m``."""


def crafted(kind: str, size: int) -> str:
    """A file of at most so many bytes."""
    head, line = KINDS[kind]
    made = "".join(line.format(n=n, m=n + 1) for n in range(size // len(line.encode())))
    text = (head + made).encode()[:size].decode(errors="ignore")
    return text.rpartition("\n")[0] if text.count("\n") > 1 else text
