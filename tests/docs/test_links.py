"""Links between the documents lead somewhere."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from compliance.devtools.here import DOCS, ROOT

DOCUMENTS = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    *sorted(DOCS.glob("*.md")),
    *sorted((ROOT / "sample_jobs").rglob("*.md")),
]
_FENCE = re.compile(r"^```.*?^```$", re.M | re.S)
_LINK = re.compile(r"\]\(([^)\s]+)\)")


def links(file: Path) -> Iterator[str]:
    """The targets of a document's links and pictures, outside code."""
    text = _FENCE.sub("", file.read_text(encoding="utf-8"))
    yield from _LINK.findall(re.sub(r"`[^`\n]*`", "", text))


def anchors(file: Path) -> set[str]:
    """The places in a document that a link can name: its headings, as forges make them, and explicit ones."""
    text = file.read_text(encoding="utf-8")
    found = set(re.findall(r'<a id="([^"]+)">', text))
    for heading in re.findall(r"^#{1,6} (.+)$", _FENCE.sub("", text), re.M):
        plain = re.sub(r"<[^>]+>|[`*]", "", heading).strip().lower()
        found.add(re.sub(r"[^\w\- ]", "", plain).replace(" ", "-"))
    return found


@pytest.mark.parametrize("file", DOCUMENTS, ids=lambda file: str(file.relative_to(ROOT)))
def test_every_relative_link_leads_to_a_file_and_a_place_in_it(file: Path) -> None:
    """Files that are there, headings that are there."""
    broken = []
    for link in links(file):
        if link.startswith(("http://", "https://", "mailto:")):
            continue
        path, _, anchor = link.partition("#")
        target = (file.parent / path).resolve() if path else file
        if not target.exists() or (anchor and target.suffix == ".md" and anchor not in anchors(target)):
            broken.append(link)
    assert broken == []


def test_every_document_is_reachable_from_the_map() -> None:
    """docs/README.md names each page."""
    named = {(DOCS / link.partition("#")[0]).name for link in links(DOCS / "README.md")}
    pages = {file.name for file in DOCS.iterdir() if file.suffix in (".md", ".json")} - {"README.md"}
    assert pages <= named


def test_the_documents_link_to_each_other_at_all() -> None:
    """Else the test of links would pass on nothing."""
    assert sum(1 for file in DOCUMENTS for _ in links(file)) > 100
