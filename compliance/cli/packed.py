"""A pack as bytes: what it is made from, and its files. Only the records that its figures need are read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from compliance.cli.shell import Shell
from compliance.records.problem import ComplianceError, Problem
from compliance.records.quick import dataclass

if TYPE_CHECKING:
    from compliance.records.state import State
    from compliance.records.views import Attachment
    from compliance.reports.model import Page
    from compliance.reports.pack_parts import Pack
    from compliance.rules.rule import Finding


@dataclass(frozen=True)
class Plan:
    """What goes into a pack. parts: name -> whether it goes; files: SHA-256 of what would go -> whether it does.

    never: words that may stand in no file of it. jobs: name -> whether its pages go, None where a plan lists none.
    """

    inquiry: str
    parts: Mapping[str, bool]
    files: Mapping[str, bool]
    never: tuple[str, ...] = ()
    language: Any = "en"
    paper: Any = "letter"
    jobs: Mapping[str, bool] | None = None


@dataclass(frozen=True)
class Kept:
    """A file that a pack may hold. sha256: of the bytes that would go, '' where none can; part: '' for one of none."""

    part: str
    name: str
    what: str
    sha256: str
    file: Attachment


def gathered(
    shell: Shell, name: str, language: Any, paper: Any, jobs_listed: Mapping[str, bool] | None = None
) -> tuple[Pack, list[Kept]]:
    """What a pack is made from, and the files that it may hold: only the records that its figures need are read.

    jobs_listed: job -> whether its pages go, one that is not listed stays; None for all of them.
    """
    from compliance.book.derived import records_for_runs
    from compliance.cli.searching import searched
    from compliance.records.state import gather
    from compliance.reports.pack_parts import Pack, jobs_near, without_jobs
    from compliance.water.fold import calculate

    _, inquiry, found = searched(shell, name, {})
    near = list(dict.fromkeys(spot.run.record for spot in found.near))
    with shell.open() as book:
        state = gather(records_for_runs(book, near))
        night = calculate(state)
        jobs = jobs_near(state, night, found)
        more = sorted({record for job in jobs for record in job.runs} - set(near))
        if more:  # a job goes on over other nights
            state = gather(records_for_runs(book, [*near, *more]))
            night = calculate(state)
            jobs = jobs_near(state, night, found)
    findings = _findings(shell, state, night, near)
    pack = Pack(state, night, inquiry, found, jobs, findings, shell.zone_today(state), language, paper)
    if jobs_listed is not None:
        pack = without_jobs(pack, {job.job for job in pack.jobs if not jobs_listed.get(job.job)})
    return pack, list(_kept(pack))


def _findings(shell: Shell, state: State, night: Any, runs: Iterable[str]) -> tuple[Finding, ...]:
    from datetime import date

    from compliance.rules.run import check_run
    from compliance.rules.scene import Scene

    scene = Scene(state, night, date.fromisoformat(shell.zone_today(state)))
    found: list[Finding] = []
    for record in runs:
        report = check_run(scene, record)
        if isinstance(report, Problem):
            raise ComplianceError(report)
        found += report.findings
    return tuple(dict.fromkeys(found))


def _kept(pack: Pack) -> Iterable[Kept]:
    """Files of these jobs alone: photos as copies without position and device, papers as they are kept."""
    from compliance.reports.ownfiles import own_files
    from compliance.reports.pack_withheld import part_of_file

    seen: set[str] = set()
    for job in pack.jobs:
        for file in own_files(pack.source(job), job):
            if file.record in seen:
                continue
            seen.add(file.record)
            part = part_of_file(file, any(one.record == file.about for one in pack.state.tickets))
            sha = file.copy if file.media.startswith("image/") else file.sha256
            yield Kept(part, file.name, file.what, sha, file)


_FOLDERS: Final = {
    "photos": ("photos", "photo"), "tickets": ("tickets", "ticket"), "agents": ("papers", "data-sheet"),
    "in force": ("papers", "in-force"),
}  # fmt: skip
"""Part -> folder and name of its files in a pack."""


@dataclass(frozen=True)
class Made:
    """A pack as bytes. texts: every text in it, by where it stands."""

    files: Mapping[str, bytes]
    archive: bytes
    texts: Mapping[str, str]


def packed(shell: Shell, pack: Pack, kept: list[Kept], plan: Plan, letter_path: Path | None) -> Made:
    """The files of a pack."""
    from compliance.book.files import sound
    from compliance.cli.lettering import letter_of, read_letter
    from compliance.reports.inquiry_letter import letter_page
    from compliance.reports.pack_files import as_json, as_zip, hashes, join, tables, text_of, words_of
    from compliance.reports.pack_index import index_page, withheld_page
    from compliance.reports.pack_night import times
    from compliance.reports.pack_pages import pages
    from compliance.reports.pack_parts import LETTER, PARTS, TIMELINE, title
    from compliance.reports.pack_withheld import Goes
    from compliance.reports.text import table_csv

    goes = {part for part in PARTS if plan.parts.get(part)}
    home = frozenset(one.sha256 for one in kept if one.sha256 and not plan.files.get(one.sha256))
    made: dict[str, Page] = {}
    files: dict[str, bytes] = {}
    if LETTER in goes:
        if letter_path is not None:
            text = read_letter(letter_path)
        else:
            home_parts = [part for part in PARTS if part not in goes]
            text = letter_of(shell, pack.state, pack.inquiry, pack.found, plan.language, without=home_parts)
        made[LETTER] = letter_page(
            text,
            issuer=str(pack.state.business["name"]),
            number=pack.inquiry.ref,
            language=plan.language,
            paper=plan.paper,
        )
        files["letter.txt"] = text.encode()
    apart = {one.sha256 for one in kept if one.part and one.part not in goes}  # its picture stays with its part
    made |= pages(pack, goes, home | apart)
    lost, copies = 0, dict[str, bytes]()
    for one in kept:
        if (one.part and one.part not in goes) or one.sha256 in home:
            continue
        data = sound(shell.folder, one.sha256)
        if data is None:
            lost += 1
            continue
        ending = ".jpg" if one.file.copy else Path(one.name).suffix.lower()
        folder, kind = _FOLDERS.get(one.part, ("papers", "paper"))
        copies[f"{folder}/{kind}-{len(copies) + 1}{ending}"] = data
    files |= copies
    parts = [part for part in PARTS if part not in goes]
    back = withheld_page(pack, parts, sum(one.sha256 in home for one in kept), lost)
    order = [("letter", made[LETTER])] if LETTER in made else []
    rest = [(part, page) for part, page in made.items() if part != LETTER] + [("withheld", back)]
    names = [*(part for part, _ in order), "index", *(part for part, _ in rest)]
    labels = _labels(names)
    entries = [(title(pack.words, part), f"{labels[part]}-1") for part in names]
    listed = [(name, sha256(data).hexdigest()) for name, data in sorted(files.items())]
    index = index_page(pack, entries, listed)
    sheets = [*order, ("index", index), *rest]
    whole, _ = join(
        [(labels[part], page) for part, page in sheets],
        title=f"{pack.words('letter.title')} {pack.inquiry.ref}", pictures=partial(sound, shell.folder),
    )  # fmt: skip
    for part, page in made.items():
        if part != LETTER:
            files |= {f"tables/{name}": data for name, data in tables(part, page)}
    everything = dict(sheets)
    about: dict[str, Any] = {
        "inquiry": pack.inquiry.ref, "size": pack.found.size, "root": pack.found.root, "withheld": parts,
    }  # fmt: skip
    if TIMELINE in goes:
        clock = times(pack, Goes(goes))
        files["tables/times.csv"] = table_csv(clock).encode("utf-8", "backslashreplace")
        keys = ("run", "line", "what", "from", "until")
        about["times"] = [dict(zip(keys, (cell.text for cell in row), strict=True)) for row in clock.rows]
    files["answer.json"] = as_json(everything, about)
    files["answer.pdf"] = whole
    files["hashes.txt"] = hashes(files)
    texts = {part: words_of(page) for part, page in everything.items()}
    texts |= {name: f"{name} {text_of(copies[name]) if name in copies else ''}" for name in files}
    return Made(files, as_zip(files, pack.inquiry.ref), texts)


def _labels(names: list[str]) -> dict[str, str]:
    """A letter a part: 'A', 'B' ..."""
    return {name: chr(ord("A") + n) for n, name in enumerate(names)}
