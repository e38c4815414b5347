"""The words of a page, from one catalogue a language.

Labels of fields and of their choices are not in the catalogue: they come from `records.fields`, their one home.
Clauses that the calculator gives in English ('recovery was not planned') are catalogue entries too, under the clause
itself, so that a Spanish page says them in Spanish; one that is on no list is shown as it came.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

from compliance.records.answer import NOT_RECORDED, NOT_YET
from compliance.records.fields import GROUPS, Choice, field
from compliance.reports.model import Language

LANGUAGES: tuple[Language, ...] = ("en", "es")


@cache
def catalogue(language: Language) -> Mapping[str, str]:
    """Every entry of one language: key -> text with `{name}` places."""
    path = resources.files("compliance.reports") / "words" / f"{language}.json"
    entries: dict[str, str] = json.loads(path.read_text(encoding="utf-8"))
    return entries


@cache
def _patterns(language: Language) -> Sequence[tuple[re.Pattern[str], str]]:
    """The clauses with numbered places ('{0} was {1}'), the most telling first."""
    made = []
    for key, said in catalogue(language).items():
        clause = key.removeprefix("clause.")
        if clause != key and "{0}" in clause:
            made.append((len(clause), re.compile(re.sub(r"\\{[0-9]\\}", "(.+?)", re.escape(clause))), said))
    return [(pattern, said) for _, pattern, said in sorted(made, key=lambda one: -one[0])]


@dataclass(frozen=True)
class Words:
    """The words of one language.

    closed: the month is closed, so what was 'not recorded yet' is now 'not recorded'.
    """

    language: Language
    closed: bool = False

    def __call__(self, key: str, **values: object) -> str:
        """The entry under key with its places filled. Raises KeyError for a key or a value that is not there."""
        return catalogue(self.language)[key].format(**values)

    def count(self, key: str, n: int, **values: object) -> str:
        """The entry `key.one` or `key.many`, by n."""
        return self(f"{key}.one" if n == 1 else f"{key}.many", n=f"{n:,}", **values)

    def clause(self, text: str) -> str:
        """A clause of the calculator in this language: whole, or part by part at '; ' and ': ', or by its pattern."""
        return self.settled(self._clause(text))

    def settled(self, text: str) -> str:
        """A text of this language that may say 'not recorded yet': in a closed month it says 'not recorded'."""
        not_yet = catalogue(self.language)[f"unknown.{NOT_YET}"]
        return text.replace(not_yet, self.unknown(NOT_YET)) if self.closed else text

    def _clause(self, text: str) -> str:
        if self.language == "en":
            return text
        found = catalogue(self.language).get(f"clause.{text}")
        if found is not None:
            return found
        for mark in ("; ", ": "):
            if mark in text:
                head, rest = text.split(mark, 1)
                return f"{self._clause(head)}{mark}{self._clause(rest)}"
        matches = [
            (said, match.groups()) for pattern, said in _patterns(self.language) if (match := pattern.fullmatch(text))
        ]
        # 'what was captured is not read' fits '{0} was {1}' too: the reading whose parts are all known is the right one
        known = [one for one in matches if all(f"clause.{part}" in catalogue(self.language) for part in one[1])]
        for said, parts in (*known, *matches)[:1]:
            return said.format(*(self._clause(part) for part in parts))
        listed = text.split(", ")
        return ", ".join(map(self._clause, listed)) if len(listed) > 1 else text

    def formula(self, text: str) -> str:
        """A line to redo by hand: its digits stay, its few words are put into this language, a minus is a minus."""
        entries = catalogue(self.language)
        for key, said in entries.items():
            if key.startswith("formula."):
                text = re.sub(rf"(?<!\w){re.escape(key.removeprefix('formula.'))}(?!\w)", said, text)
        text = re.sub(r"(?<=\d )in(?=[ )])", self.unit("in"), text)  # of a mark: '26.5 in'
        return text.replace(" - ", " − ")

    def unknown(self, kind: str) -> str:
        """How a page says that there is no figure; kind: an answer without a value, or 'not known'."""
        if kind == NOT_YET and self.closed:
            kind = NOT_RECORDED
        return self(f"unknown.{kind}")

    def label(self, group: str, name: str) -> str:
        """The label of a field."""
        row = field(group, name)
        return row.es if self.language == "es" else row.en

    def choice(self, group: str, name: str, value: str) -> str:
        """The label of one answer of a field; a text that is no choice of it is shown as it was typed."""
        for row in GROUPS[group]:
            if row.name == name:
                return _chosen(row.choices, value, self.language)
        raise KeyError(f"{group}.{name}")

    def unit(self, unit: str) -> str:
        """A unit as a page prints it ('ft2' as 'sq ft')."""
        return catalogue(self.language).get(f"unit.{unit}", unit)


def _chosen(choices: tuple[Choice, ...], value: str, language: Language) -> str:
    for one in choices:
        if one.value == value:
            return one.es if language == "es" else one.value
    return value
