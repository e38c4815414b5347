"""One entry from the command line into the book: checked, written, answered."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from compliance.cli.shell import Shell, refused, whole
from compliance.cli.show import print_json
from compliance.cli.wrapping import tell
from compliance.records.problem import ComplianceError


def given(**values: Any) -> dict[str, Any]:
    """The values that were given, by name."""
    return {name: value for name, value in values.items() if value is not None}


def typed_value(value: str | None, typed: str) -> Any:
    """A value from the command line; a table in JSON (a measure, a list) is read as one. typed: where it was given."""
    import json

    if value is None or value[:1] not in "{[":
        return value
    try:
        return json.loads(value)
    except ValueError as error:
        raise refused(f"the value begins like JSON and is not: {error}", typed, "check quotes and brackets") from error


def write(
    shell: Shell,
    kind: str,
    raw: Mapping[str, Any],
    *,
    where: str = "the command line",
    as_json: bool = False,
    preview: bool = False,
) -> str:
    """Check and append one entry of a kind that a file can hold too; returns the record's id, '' for nothing new.

    preview: only check it, and say what there is to say.
    """
    from compliance.intake.handin import hand_in
    from compliance.intake.validate import check

    with shell.open() as book:
        state = whole(book)
        (checked,) = check(kind, raw, state=state, where=where, now=shell.now())
        if preview:
            if checked.problems:
                raise ComplianceError(*checked.problems)
            answer(
                checked.cautions,
                checked.notes,
                ("Nothing was written; leave --preview out to do it.",),
                "",
                "",
                as_json,
            )
            return ""
        done = hand_in(book, checked, state=state, now=shell.stamp(), token=shell.token)
    answer(checked.cautions, checked.notes, done.lines, done.record.id if done.record else "", done.ref, as_json)
    return done.record.id if done.record else ""


def answer(
    cautions: tuple[str, ...],
    notes: tuple[str, ...],
    lines: tuple[str, ...],
    id: str,
    ref: str,
    as_json: bool,
    language: str = "en",
) -> None:
    """What the person is told: cautions and notes on stderr, the answer on stdout."""
    if as_json:
        print_json({"record": id, "ref": ref, "lines": list(lines), "notes": list(notes), "cautions": list(cautions)})
        return
    if notes or cautions:
        from compliance.intake.wording import say

        for note in notes:
            tell(say("look again", language, text=note), err=True)
        for caution in cautions:
            tell(say("caution", language, text=caution), err=True)
    for line in lines:
        tell(line)
