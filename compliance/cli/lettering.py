"""inquiry letter: the answer as text to be edited, and as a page of what was left of it."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from compliance.cli.asked import asked_only, named
from compliance.cli.searching import searched
from compliance.cli.shell import Shell, refused
from compliance.cli.show import form_options

if TYPE_CHECKING:
    from compliance.records.inquiries import Inquiry
    from compliance.records.state import State
    from compliance.reports.inquiry_found import Found
    from compliance.reports.inquiry_letter import Demanded


@click.command("letter", short_help="Write the answer as text, then as PDF.")
@click.argument("name")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("letters"), show_default=True,
              help="Folder to write into.")  # fmt: skip
@click.option("--from", "edited", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
              help="Make the PDF of this text, as you left it.")  # fmt: skip
@click.option("--anew", is_flag=True, help="Write the text anew over one that is there.")
@click.option("--demanded-by", metavar="AUTHORITY", help="An authority that asks for a sentence in so many words.")
@click.option("--sentence", help="That sentence; else the letter ends with a plain statement.")
@click.option("--signed-by", metavar="NAME", help="Who signs that sentence.")
@click.option("--signer-role", metavar="ROLE", help="The role by which that person may sign it.")
@form_options
@click.pass_obj
def letter_command(
    shell: Shell,
    name: str,
    out: Path,
    edited: Path | None,
    anew: bool,
    demanded_by: str | None,
    sentence: str | None,
    signed_by: str | None,
    signer_role: str | None,
    lang: Any,
    paper: Any,
) -> None:
    """Write the answer as text to be edited; with --from, the PDF of the text as you left it.

    It says what the records show near there, which rigs were elsewhere, of which rigs they cannot say, and how far they
    reach. It names no client: addresses only.
    """
    from compliance.book import files

    demanded = _demanded(demanded_by, sentence, signed_by, signer_role)
    if edited is None:
        state, inquiry, found = searched(shell, name, {})
        path = out / f"{inquiry.ref}.{lang}.txt"
        if path.exists() and not anew:
            raise refused("there is a letter already", str(path), "edit it, or write it again with --anew")
        text = letter_of(shell, state, inquiry, found, lang, demanded)
        files.make_folder(out)
        files.write_whole(path, text.encode())
        click.echo(f"  {path}")
        form = f"{' --lang es' if lang == 'es' else ''}{' --paper A4' if paper == 'A4' else ''}"
        click.echo(f"Read it, change what you like, then: washwater inquiry letter {inquiry.ref}{form} --from {path}")
        return
    state = asked_only(shell)
    inquiry = named(state, name)
    text = read_letter(edited)
    path = edited.with_suffix(".pdf")
    files.write_whole(path, letter_pdf(state, inquiry, text, lang, paper))
    click.echo(f"  {path}")


def letter_pdf(state: State, inquiry: Inquiry, text: str, language: Any, paper: Any) -> bytes:
    """The PDF of a letter's text as the owner left it."""
    from compliance.reports import pdf
    from compliance.reports.inquiry_letter import letter_page

    issuer = str(state.business["name"])
    return pdf.render(letter_page(text, issuer=issuer, number=inquiry.ref, language=language, paper=paper))


def read_letter(path: Path) -> str:
    """The text of a letter. Raises ComplianceError for a file that cannot be read as text, or has none in it."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise refused(f"the letter cannot be read: {error.strerror}", str(path), "look at its name") from error
    except UnicodeDecodeError as error:
        why = "the letter cannot be read: it is not UTF-8 text"
        raise refused(why, str(path), "save it as UTF-8 text") from error
    if not text.strip():
        raise refused("there is no word in the letter", str(path), "write it, or have it written with --anew")
    return text


def letter_of(
    shell: Shell,
    state: State,
    inquiry: Inquiry,
    found: Found,
    language: Any,
    demanded: Demanded | None = None,
    without: Collection[str] = (),
) -> str:
    """The letter's text, dated today."""
    from compliance.reports.inquiry_letter import letter_text

    today = shell.zone_today(state)
    return letter_text(state, inquiry, found, today=today, language=language, demanded=demanded, without=without)


def _demanded(authority: str | None, sentence: str | None, by: str | None, role: str | None) -> Demanded | None:
    from compliance.reports.inquiry_letter import Demanded

    parts = (authority, sentence, by, role)
    if not any(parts):
        return None
    if authority and sentence and by and role:
        return Demanded(authority, sentence, by, role)
    raise refused(
        "a sentence that is asked for stands only with who asks for it and who may sign it", "--sentence",
        "give --demanded-by, --sentence, --signed-by and --signer-role together, or none of them",
    )  # fmt: skip
