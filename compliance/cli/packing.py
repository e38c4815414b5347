"""inquiry pack: first a plan that the owner reads, then the pack that it describes."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.packed import Kept, Plan, gathered, packed
from compliance.cli.shell import Shell, refused
from compliance.records.problem import ComplianceError, Problem

if TYPE_CHECKING:
    from compliance.reports.pack_parts import Pack
    from compliance.reports.pack_withheld import Goes


def plan_text(plan: Plan, files: Iterable[Kept], title: Any, about: Mapping[str, str]) -> str:
    """A plan as TOML, to be read and changed. title: of a part; about: job -> where and when it was."""
    lines = [
        f"# What goes into the pack of {plan.inquiry}. Read each line; set go = false to withhold it.",
        "# What is withheld is in no file of the pack; the pack says by name which parts were withheld.",
        "# A job that does not go has no pages; the letter tells of it still. One whose address is only written",
        "# much like the one that was asked about stays, unless you know that it is meant.",
        "# A file goes with its part; one that belongs to no part stays, unless you say that it goes.",
        f"inquiry = {_toml(plan.inquiry)}",
        f"language = {_toml(plan.language)}",
        f"paper = {_toml(plan.paper)}",
        "# Words that may stand in no file of it, like a name or a number; the pack is not made while one does.",
        "never = []",
    ]
    for job, goes in (plan.jobs or {}).items():
        lines += ["", "[[job]]", f"name = {_toml(job)}", f"what = {_toml(about[job])}", f"go = {_bool(goes)}"]
    for part, goes in plan.parts.items():
        lines += ["", "[[part]]", f"name = {_toml(part)}", f"title = {_toml(title(part))}", f"go = {_bool(goes)}"]
    for kept in files:
        if kept.sha256:
            lines += ["", "[[file]]", f"part = {_toml(kept.part)}", f"name = {_toml(kept.name)}",
                      f"what = {_toml(kept.what)}", f"sha256 = {_toml(kept.sha256)}",
                      f"go = {_bool(bool(kept.part))}"]  # fmt: skip
    return "\n".join(lines) + "\n"


def _toml(text: str) -> str:
    """A basic string: what JSON escapes, TOML reads alike, but for halves of a character and the delete sign."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _bool(value: bool) -> str:
    return "true" if value else "false"


def read_plan(path: Path) -> Plan:
    """A plan as the owner left it. Raises ComplianceError where it cannot be followed; a part left out is withheld."""
    import tomllib

    from compliance.reports.pack_parts import PARTS

    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise refused(
            f"the plan cannot be read: {why}", str(path), "write it anew with `washwater inquiry pack`"
        ) from error
    fault = _fault(raw, PARTS)
    if fault:
        raise refused(fault, str(path), "go is true or false; the names of the parts stay as they are")
    return Plan(
        raw["inquiry"], {one["name"]: one["go"] for one in raw.get("part", ())},
        {one["sha256"]: one["go"] for one in raw.get("file", ())},
        tuple(word for word in raw.get("never", ()) if word.strip()),
        raw.get("language", "en"), raw.get("paper", "letter"),
        {one["name"]: one["go"] for one in raw["job"]} if "job" in raw else None,
    )  # fmt: skip


def _fault(raw: Mapping[str, Any], known: Collection[str]) -> str:
    """What cannot be followed in a plan, '' for nothing. known: the names of parts."""
    if not isinstance(raw.get("inquiry"), str):
        return "the plan names no inquiry"
    choices = {"language": ("en", "es"), "paper": ("letter", "A4")}
    for key, allowed in choices.items():
        if raw.get(key, allowed[0]) not in allowed:
            return f"{key} is {raw[key]!r}, not one of: {', '.join(allowed)}"
    if not all(isinstance(word, str) for word in _listed(raw, "never")):
        return "'never' is no list of words"
    keys = {"part": "name", "job": "name", "file": "sha256"}
    rows = [(kind, key, one) for kind, key in keys.items() for one in _listed(raw, kind)]
    for kind, key, one in rows:
        entry = one if isinstance(one, Mapping) else {}
        right = isinstance(entry.get(key), str) and isinstance(entry.get("go"), bool)
        if not right or (kind == "part" and entry["name"] not in known):
            return f"the plan says something that is no part of it: {one}"
    return ""


def _listed(raw: Mapping[str, Any], key: str) -> list[Any]:
    """A list of the plan; what is none is a list of one thing that is no part of it."""
    found = raw.get(key, [])
    return found if isinstance(found, list) else [None]


@click.command("pack", short_help="Write the plan of an answer pack, then the pack.")
@click.argument("name")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("packs"), show_default=True,
              help="Folder to write into.")  # fmt: skip
@click.option("--plan", "plan_path", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
              help="Make the pack that this plan describes; without it the plan is written.")  # fmt: skip
@click.option("--letter", "letter_path", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
              help="The letter as you left it; else it is written anew.")  # fmt: skip
@click.option("--lang", type=click.Choice(("en", "es")), default="en", show_default=True, help="Language of the plan.")
@click.option("--paper", type=click.Choice(("letter", "A4")), default="letter", show_default=True, help="Paper.")
@click.pass_obj
def pack_command(
    shell: Shell, name: str, out: Path, plan_path: Path | None, letter_path: Path | None, lang: str, paper: str
) -> None:
    """Write the plan of an answer pack; with --plan make the pack, as a folder and a ZIP.

    A pack has the letter, an index, the night to the minute with a chart, the jobs near there with their water, drains,
    agents, tickets, photos, permissions and training, what went wrong, corrections and what is missing: one PDF, JSON
    and CSV. Findings stay at home unless the plan says otherwise. Nobody else's client is named.
    """
    from compliance.book import files
    from compliance.reports.pack_parts import HELD_BACK, LETTER, PARTS, matched, title
    from compliance.reports.pack_withheld import Goes
    from compliance.reports.words import Words

    if plan_path is None:
        pack, kept = gathered(shell, name, lang, paper)
        ref = pack.inquiry.ref
        path = out / f"{ref}.toml"
        if path.exists():
            raise refused("there is a plan already", str(path), "read it, and make the pack with --plan; or delete it")
        jobs = {job.job: matched(pack, job) for job in pack.jobs}
        plan = Plan(ref, {part: part not in HELD_BACK for part in PARTS}, {}, (), lang, paper, jobs)
        about = {job.job: ", ".join(part for part in (job.client, job.site) if part) for job in pack.jobs}
        files.make_folder(out)
        files.write_whole(path, plan_text(plan, kept, partial(title, Words(lang)), about).encode())  # type: ignore[arg-type]
        click.echo(f"  {path}")
        click.echo(f"Read it, decide what goes, then: washwater inquiry pack {ref} --plan {path}")
        return
    plan = read_plan(plan_path)
    pack, kept = gathered(shell, name, plan.language, plan.paper, plan.jobs)
    if pack.inquiry.ref != plan.inquiry:
        raise refused(f"this plan is of {plan.inquiry}", str(plan_path), f"name that one, or plan {pack.inquiry.ref}")
    goes = Goes({part for part in PARTS if plan.parts.get(part)})
    _refuse_bound(pack, goes, plan_path)
    made = packed(shell, pack, kept, plan, letter_path)
    _refuse_words(made.texts, plan)
    _refuse_told(pack, goes, made.texts)
    folder, archive = out / plan.inquiry, out / f"{plan.inquiry}.zip"
    if folder.exists():
        raise refused("there is a pack already", str(folder), "delete it, or name another folder with --out")
    for file, data in made.files.items():
        files.make_folder((folder / file).parent)
        files.write_whole(folder / file, data)
    files.write_whole(archive, made.archive)
    click.echo(f"  {folder}")
    click.echo(f"  {archive}  SHA-256 {sha256(made.archive).hexdigest()}")
    if LETTER in goes and letter_path is None:
        click.echo("Its letter was written anew; one that you changed goes with --letter FILE.")
    click.echo(
        f"{len(made.files)} files. When it is sent: washwater inquiry sent {plan.inquiry} {archive} --to ... --who ..."
    )


def _refuse_bound(pack: Pack, goes: Goes, path: Path) -> None:
    """Refuse a plan by which an account would go without one of its lines."""
    from compliance.reports.pack_withheld import bound

    problems = [
        Problem(f"{home!r} is withheld, and {part!r} cannot go without it", str(path),
                f"withhold {part!r} too, or let {home!r} go")
        for home, part in bound(pack, goes)
    ]  # fmt: skip
    if problems:
        raise ComplianceError(*problems)


def _refuse_told(pack: Pack, goes: Goes, texts: Mapping[str, str]) -> None:
    """Refuse a pack in which something stands that was typed into a part that is withheld."""
    from compliance.reports.pack_withheld import still_told

    problems = [
        Problem(f"{typed!r} belongs to {home!r}, which is withheld, and still stands in a part that goes", where,
                f"withhold that part too, or let {home!r} go")
        for home, typed, where in still_told(pack, goes, texts)
    ]  # fmt: skip
    if problems:
        raise ComplianceError(*problems)


def _refuse_words(texts: Mapping[str, str], plan: Plan) -> None:
    """Refuse a pack in which a word stands that the plan forbids."""
    from compliance.records.names import folded

    problems = [
        Problem(
            f"{word!r} still stands in a part that goes", where, "withhold that part, or take the word off the list"
        )
        for word in plan.never
        for where, text in texts.items()
        if folded(word) in folded(text)
    ]
    if problems:
        raise ComplianceError(*problems)
