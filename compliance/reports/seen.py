"""What a rule saw, in the language of a page.

Rules put what they saw into English words, as `check` tells it. A page in another language says the same by the
sentences of its catalogue: under `seen.` stands each English sentence with named places, and what may stand in a place
is told by its name. What somebody typed stays as it was typed; so does a sentence that is on no list. Missing fields
are said anew from the fields themselves, whose labels are in the field table.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Final

from compliance.reports.words import Words, catalogue
from compliance.rules.missing import NEEDS
from compliance.rules.rule import Finding, Missing

_PLACE: Final = re.compile(r"\{([a-z]+)[0-9]?\}")
_NAME: Final = r"'(?:[^'\\]|\\.)*'|\"(?:[^\"\\]|\\.)*\""
"""A name as a rule quotes it."""
_QUOTED: Final = re.compile(_NAME)
_PARTS: Final = re.compile(r", (?!then |and )|(?<!,) and ")
"""Between the parts of a list; 'showed 30, then 20' is one part."""

Said = Callable[[str, Words], str]


def seen_text(finding: Finding, words: Words) -> str:
    """What a finding saw, in the language of a page."""
    if words.language == "en":
        return finding.seen
    if finding.missing and finding.rule == "missing-1":
        return "; ".join(_by_need(finding.missing, words))
    if finding.missing and finding.rule == "register-2":
        labels = [words.label(one.group, one.field) for one in finding.missing]
        return words("seen.not recorded yet: {raw}", raw=", ".join(labels))
    return "; ".join(_sentence(one, words) for one in finding.seen.split("; "))


def _sentence(text: str, words: Words) -> str:
    """One sentence; a list of them part by part. As it came, where the catalogue does not have it."""
    return _listed(text, words) or _matched(text, words) or text


def _listed(text: str, words: Words) -> str | None:
    """A list of sentences, part by part; None where it is one sentence, or a part is not known."""
    bare = _QUOTED.sub(lambda match: "_" * len(match[0]), text)  # a name may have a comma or an 'and' of its own
    ends = [0, *(at for match in _PARTS.finditer(bare) for at in match.span()), len(text)]
    parts = [_matched(text[start:end], words) for start, end in zip(ends[::2], ends[1::2], strict=True)]
    if len(parts) == 1 or not all(parts):
        return None
    return ("; " if any(", " in str(part) for part in parts) else ", ").join(map(str, parts))


def _matched(text: str, words: Words) -> str | None:
    for pattern, key in _patterns():
        match = pattern.fullmatch(text)
        if match:
            places = match.groupdict().items()
            return words(key, **{name: _SAID[name.rstrip("12")](said, words) for name, said in places})
    return None


@cache
def _patterns() -> Sequence[tuple[re.Pattern[str], str]]:
    """The sentences of the catalogue, those with most words of their own first."""
    made = []
    for key in catalogue("en"):
        sentence = key.removeprefix("seen.")
        if sentence != key:
            own = _PLACE.sub("", sentence)
            pattern = re.sub(r"\\\{([a-z]+[0-9]?)\\\}", _place, re.escape(sentence))
            made.append((len(own), re.compile(pattern, re.DOTALL), key))
    return [(pattern, key) for _, pattern, key in sorted(made, key=lambda one: -one[0])]


def _place(match: re.Match[str]) -> str:
    name = match[1]
    return f"(?P<{name}>{_TAKES.get(name.rstrip('12'), '.+?')})"


_TAKES: Final[Mapping[str, str]] = {
    "name": _NAME,
    "n": r"[0-9.,]+",
    "day": r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?: [0-9]{2}:[0-9]{2})?",
    "group": "rig|place|permission|site|client|agent",
    "amount": r"(?:-?[0-9]|at |between |any |not ).*?",
    "ratio": r"(?:-?[0-9]|at |between ).*?",
    "answer": r"not known|not read|not recorded yet|not applicable|no|yes",
    "method": "declared|meter|mark|fills|time|count|weight|ticket|levels|sum|worked out",
    "reached": "storm drain|gutter or street|surface water|soil|pavement only",
    "kind": "[a-z' ]+",
}
"""What may stand in a place, as a pattern; anything where it is not named here."""


def _answer(text: str, words: Words) -> str:
    if text in ("yes", "no"):
        return words.choice("place", "designated", text)
    return words.unknown(text)


def _amount(text: str, words: Words) -> str:
    if f"unknown.{text}" in catalogue("en"):
        return words.unknown(text)
    for ending, key in ((", no ± stated", "mark.none"), (", stated, no ±", "mark.stated"),
                        (", worked out, no ±", "mark.divided")):  # fmt: skip
        if text.endswith(ending):
            return words(key, amount=words.formula(text.removesuffix(ending)))
    return words.formula(text)


def _as_typed(text: str, words: Words) -> str:
    return text


_SAID: Final[Mapping[str, Said]] = {
    "amount": _amount,
    "ratio": _amount,
    "answer": _answer,
    "method": lambda text, words: words(f"method.{text}"),
    "reached": lambda text, words: words.choice("escape", "reached", text),
    "kind": lambda text, words: words.choice("place", "kind", text),
    "group": lambda text, words: words.label(text, "name").lower(),
    "runs": lambda text, words: text.replace(" and ", f" {words('figure.and')} "),
    "name": _as_typed,
    "n": _as_typed,
    "day": _as_typed,
    "raw": _as_typed,
}
"""How what stands in a place is said in the language of the page."""


def _by_need(missing: Sequence[Missing], words: Words) -> list[str]:
    """'completed by the office: Area (line 1, line 2)' of each need, in order."""
    made = []
    for need in NEEDS:
        where: dict[str, list[str]] = {}
        for one in missing:
            if one.need == need:
                where.setdefault(words.label(one.group, one.field), []).append(one.entry or one.line)
        if where:
            fields = ", ".join(f"{label} ({_lines(list(dict.fromkeys(at)), words)})" for label, at in where.items())
            made.append(words(f"seen_need.{need}", fields=fields))
    return made


def _lines(at: Sequence[str], words: Words) -> str:
    """'run', 'line 3', 'ticket 4711': where a field is missing."""
    return ", ".join(_line(one, words) for one in at)


def _line(at: str, words: Words) -> str:
    if not at:
        return words("seen_run")
    if at[:1].isdigit():
        return words("seen_line", n=at)
    return words("seen_ticket", number=at.removeprefix("ticket "))
