"""The pass and fail samples of each rule: from TOML through the validator and the calculator to findings.

A sample is layered over base.toml, which is a clean night: an entry of the same name changes the fields that it gives
(the entry is new otherwise), `[night]` changes fields of the run, `lines` replaces its lines, `[line.<n>]` changes
fields of its line n. `[[nights]]` are further runs, each over the base night in the same way; `[[tickets]]`,
`[[amends]]` and `[[backups]]` come last. `without` names what is left out: fields of the run, or 'n.field' for a
field of line n.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy
from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import count
from pathlib import Path
from typing import Any

from compliance.intake.entries import entry
from compliance.intake.validate import check as validate
from compliance.records.envelope import Record
from compliance.records.fields import REGISTERS
from compliance.records.kinds import BACKUP
from compliance.records.state import State, gather
from compliance.rules.rule import Finding
from compliance.rules.run import Report, check
from compliance.rules.scene import Scene
from compliance.water.fold import calculate

HERE = Path(__file__).parent
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
Sample = Mapping[str, Any]


def base() -> dict[str, Any]:
    """The clean night."""
    return read_file(HERE / "base.toml")


def sample_file(rule: str, outcome: str) -> Path:
    """The file of one sample: outcome is 'pass' or 'fail'."""
    return HERE / rule / f"{outcome}.toml"


def read_file(file: Path) -> dict[str, Any]:
    """A sample as it stands in a file."""
    return tomllib.loads(file.read_text(encoding="utf-8"))


def read(rule: str, outcome: str) -> dict[str, Any]:
    """One sample as it stands in its file."""
    return read_file(sample_file(rule, outcome))


def whole(*samples: Sample) -> dict[str, Any]:
    """Samples layered over the base, one over the other."""
    made = base()
    for one in samples:
        made = layered(made, one)
    return made


def records(whole: Sample) -> list[Record]:
    """The records of a whole sample."""
    registers = {"business": whole["business"]} | {what: whole[what] for what in REGISTERS if what in whole}
    entries: list[tuple[str, Sample]] = [("registers", registers)]
    nights = [{}, *whole.get("nights", [])]
    entries += [("run", _run(whole, night, at)) for at, night in enumerate(nights)]
    entries += [("ticket", ticket) for ticket in whole.get("tickets", [])]
    entries += [(str(amend["kind"]), amend) for amend in whole.get("amends", [])]
    return [*(made := _records(entries)), *_backups(whole, len(made))]


def layered(under: Sample, over: Sample) -> dict[str, Any]:
    """One sample over another."""
    made = deepcopy(dict(under))
    for key, value in deepcopy(dict(over)).items():
        if key in REGISTERS:
            entries = {one["name"]: one for one in made.get(key, [])}
            for one in value:
                entries[one["name"]] = {**entries.get(one["name"], {}), **one}
            made[key] = list(entries.values())
        elif key in ("business", "night"):
            made[key] = {**made.get(key, {}), **value}
        elif key == "line":
            for n, fields in value.items():
                made["lines"][int(n) - 1] |= fields
        else:
            made[key] = value
    for path in made.pop("without", []):
        n, _, name = path.rpartition(".")
        (made["lines"][int(n) - 1] if n else made["night"]).pop(name)
    return made


def _run(whole: Sample, night: Sample, at: int) -> dict[str, Any]:
    """The run of one night: the base night with what this one says differently."""
    fields = {**whole["night"], "id": f"night {at}", **night}
    lines = deepcopy(fields.pop("lines", whole["lines"]))
    for n, changed in fields.pop("line", {}).items():
        lines[int(n) - 1] |= changed
    return {**fields, "line": lines}


def _records(entries: Iterable[tuple[str, Sample]]) -> list[Record]:
    tokens = count(1)
    made: list[Record] = []
    for kind, raw in entries:
        state = gather(made) if made else None
        plain = {key: value for key, value in raw.items() if key != "kind"} if kind == "run" else raw
        for checked in validate(kind, plain, state=state, where="sample", now=NOW):
            assert not checked.problems, "\n".join(str(problem) for problem in checked.problems)
            if checked.payload is None:
                continue
            one = entry(checked, now=NOW.isoformat(), token=lambda: next(tokens).to_bytes(16, "big"))
            seq, received = len(made) + 1, one.device_time
            made.append(Record(seq, one.id, one.kind, 1, one.event_time, one.device_time, received, one.payload))
    return made


def _backups(whole: Sample, size: int) -> list[Record]:
    """That the book was copied: no file of entries says so, the command writes it down."""
    said = {"head": f"{size}:{'0' * 64}", "sha256": "0" * 64, "files": 0, "spoilt": 0}
    return [
        Record(
            size + n, f"{n:032x}", BACKUP, 1, one["made"][:10], one["made"], one["made"], {"made": one["made"], **said}
        )
        for n, one in enumerate(whole.get("backups", []), start=1)
    ]


def scene_of(recorded: Sequence[Record], today: str) -> Scene:
    """What rules are asked about these records on a day."""
    state: State = gather(recorded)
    return Scene(state, calculate(state), date.fromisoformat(today))


def scene(*samples: Sample) -> Scene:
    """What rules are asked about samples over the base."""
    return whole_scene(whole(*samples))


def whole_scene(made: Sample) -> Scene:
    """What rules are asked about a whole sample."""
    return scene_of(records(made), str(made["today"]))


def leaves(sample: Any, path: str = "") -> dict[str, Any]:
    """Every single fact of a sample by its path."""
    if isinstance(sample, Mapping):
        return {k: v for key, one in sample.items() for k, v in leaves(one, f"{path}.{key}").items()}
    if isinstance(sample, list):
        return {k: v for at, one in enumerate(sample) for k, v in leaves(one, f"{path}[{at}]").items()}
    return {path: sample}


def found(scene_: Scene, *only: str) -> tuple[Finding, ...]:
    """The findings of some rules (of all, if none is named) over a whole book."""
    report = check(scene_, only=only or None)
    assert isinstance(report, Report), report
    return report.findings


def outcome(scene_: Scene, rule: str) -> str:
    """What became of one rule on its first subject: 'found', 'silent', 'cannot tell' or 'does not apply', with why."""
    report = check(scene_, only=[rule])
    assert isinstance(report, Report), report
    (count_,) = report.counts
    if count_.found:
        return f"found: {report.findings[0].seen}"
    if count_.cannot_tell:
        return f"cannot tell: {report.untold[0].why}"
    if count_.silent:
        return "silent" + "".join(f": {why}" for why, _ in count_.notes)
    return "does not apply"


def with_run(scene_: Scene, at: int = 0, **facts: Any) -> Scene:
    """The scene with other facts of one run, where no record would bring them about."""
    record = scene_.state.runs[at].record
    runs = {**scene_.night.runs, record: replace(scene_.night.runs[record], **facts)}
    return Scene(scene_.state, replace(scene_.night, runs=runs), scene_.today)


def with_load(scene_: Scene, name: str, **facts: Any) -> Scene:
    """The scene with other facts of one load."""
    loads = {**scene_.night.loads, name: replace(scene_.night.loads[name], **facts)}
    return Scene(scene_.state, replace(scene_.night, loads=loads), scene_.today)


def with_state(scene_: Scene, **changes: Any) -> Scene:
    """The scene with other records."""
    return Scene(replace(scene_.state, **changes), scene_.night, scene_.today)
