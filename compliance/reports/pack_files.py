"""An answer pack as bytes: one PDF with bookmarks and page labels, JSON, CSV, and all of it as a ZIP.

The same pages give the same bytes. What is withheld is in no file, since no file is made from anything but the pages.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256
from typing import Any, Final

from compliance.reports import pdf
from compliance.reports.hours import table as hours_table
from compliance.reports.model import Hours, Page, Pictures, Table, WaterPath, no_pictures
from compliance.reports.page_json import to_json
from compliance.reports.picture import path_table
from compliance.reports.text import table_csv

_LONG_AGO: Final = (1980, 1, 1, 0, 0, 0)
"""The time of every member of the ZIP: when it was packed is no part of what it says."""


def join(parts: Sequence[tuple[str, Page]], *, title: str, pictures: Pictures = no_pictures) -> tuple[bytes, list[str]]:
    """Parts (label of their sheets, page) as one PDF, and the label of each part's first sheet.

    Each part is a bookmark with its own headings under it, and its sheets are labelled 'A-1', 'A-2'.
    """
    from pypdf import PdfReader, PdfWriter
    from pypdf.constants import PageLabelStyle
    from pypdf.generic import BooleanObject, DictionaryObject, NameObject, TextStringObject

    writer = PdfWriter()
    firsts = []
    for label, page in parts:
        start = len(writer.pages)
        reader = PdfReader(io.BytesIO(pdf.render(page, pictures, sheets=f"{label}-")))
        writer.append(reader)  # its bookmarks come along, the page's title first
        writer.set_page_label(start, len(writer.pages) - 1, style=PageLabelStyle.DECIMAL, prefix=f"{label}-")
        firsts.append(f"{label}-1")
    writer.compress_identical_objects()  # the fonts of all parts are one
    issuer, language = (parts[0][1].issuer, parts[0][1].language) if parts else ("", "en")
    writer.metadata = {"/Title": title, "/Author": issuer, "/Creator": "washwater", "/Producer": "washwater"}
    writer.page_mode = "/UseOutlines"
    writer.root_object[NameObject("/Lang")] = TextStringObject(language)  # for a voice that reads it
    shown = DictionaryObject({NameObject("/DisplayDocTitle"): BooleanObject(True)})
    writer.root_object[NameObject("/ViewerPreferences")] = shown
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue(), firsts


def as_json(parts: Mapping[str, Page], about: Mapping[str, Any]) -> bytes:
    """The pages of a pack as one JSON document, canonical: {about ..., parts: {part: page}}."""
    whole = {**about, "parts": {part: json.loads(to_json(page)) for part, page in parts.items()}}
    return json.dumps(whole, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode(
        "utf-8", "backslashreplace"
    )


def tables(part: str, page: Page) -> Iterator[tuple[str, bytes]]:
    """Every table of a page, those behind its pictures too, as CSV: (name of the file, its bytes)."""
    n = 0
    for block in page.blocks:
        match block:
            case Table():
                found = block
            case Hours():
                found = hours_table(block)
            case WaterPath():
                found = path_table(block, page.language)
            case _:
                continue
        n += 1
        yield f"{part.replace(' ', '-')}-{n}.csv", table_csv(found).encode("utf-8", "backslashreplace")


def words_of(page: Page) -> str:
    """Every word of a page, as a search finds them."""
    return "\n".join(_strings(json.loads(to_json(page))))


def _strings(value: Any) -> Iterator[str]:
    match value:
        case str():
            yield value
        case dict():
            for one in value.values():
                yield from _strings(one)
        case list():
            for one in value:
                yield from _strings(one)


def text_of(data: bytes) -> str:
    """The words of a kept file as far as they can be read: of a PDF its pages; of a picture there are none."""
    if not data.startswith(b"%PDF"):
        return data.decode("utf-8", "ignore")
    from pypdf import PdfReader

    try:
        return "\n".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(data)).pages)
    except Exception:  # a damaged file, of which each reader has errors of its own
        return data.decode("latin-1")


def hashes(files: Mapping[str, bytes]) -> bytes:
    """A line a file: SHA-256 and name, as usual tools read it."""
    return "".join(f"{sha256(data).hexdigest()}  {name}\n" for name, data in sorted(files.items())).encode()


def as_zip(files: Mapping[str, bytes], folder: str) -> bytes:
    """The files under one folder as a ZIP, in the order of their names."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in sorted(files.items()):
            member = zipfile.ZipInfo(f"{folder}/{name}", _LONG_AGO)
            member.compress_type = zipfile.ZIP_DEFLATED
            member.external_attr = 0o644 << 16
            packed.writestr(member, data)
    return out.getvalue()
