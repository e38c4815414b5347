"""The documents claim no more than records can bear, and tell nothing of the machine they were written on."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from compliance.devtools.here import DOCS, ROOT

HAND_WRITTEN = [
    ROOT / "README.md", ROOT / "DEVELOPERS.md",
    *(file for file in sorted(DOCS.glob("*.md")) if file.name not in ("errors.md", "rules.md", "fields.md")),
]  # fmt: skip

OVER_CLAIMING = re.compile(
    r"\b(certif(?:y|ied|ies|icate|ication)|complian(?:t|ce)|approved?|guaranteed?|tamper-?proof|zero[- ]discharge|"
    r"100 ?%|no water entered|eco-?friendly|safe(?:ly)?)\b(?!\.(?:devtools|records|water|cli|rules|book))",
    re.IGNORECASE,
)
ALLOWED = (
    "compliance/",  # the package
    "compliance.",
    "compliance",
    "ComplianceError",
)
QUOTING = {
    "spanish.md": "## 5. Words that no page of ours says",  # the list of such words itself
    "DEVELOPERS.md": "Over-claiming words",  # the rule of words
}
"""Documents that quote such words, and the beginning of the paragraph or section in which they may."""

FOREIGN = re.compile(
    r"/work\b|/tmp/|/home/\w|/root\b|[A-Z]:\\Users|seed document|\bmandate\b|language model|\bAI\b|pypi\.org",
)


def claims(file: Path) -> list[str]:
    """The over-claiming words of a document, but for the places where it quotes them."""
    text = file.read_text(encoding="utf-8")
    quoting = QUOTING.get(file.name)
    if quoting:
        before, found, after = text.partition(quoting)
        assert found, f"{file.name} has no passage {quoting!r}"
        text = before + after.partition("\n\n" if not quoting.startswith("#") else "\n## ")[2]
    return [match[0] for match in OVER_CLAIMING.finditer(text) if match[0].lower() not in ALLOWED]


@pytest.mark.parametrize("file", HAND_WRITTEN, ids=lambda file: file.name)
def test_a_document_does_not_over_claim(file: Path) -> None:
    """Where it speaks for the product; quoting the rule of words is allowed where the rule stands."""
    assert claims(file) == []


def test_an_over_claim_is_found(tmp_path: Path) -> None:
    """The test can fail."""
    file = tmp_path / "page.md"
    file.write_text("A certified and tamper-proof record, 100 % safe; see `compliance/`.\n", encoding="utf-8")
    assert claims(file) == ["certified", "tamper-proof", "safe"] or "100 %" in claims(file)
    assert len(claims(file)) >= 3


def tracked() -> list[Path]:
    """The text files of the repository; the checkout itself where there is no git."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=False)
    if listed.returncode == 0 and listed.stdout:
        names = [name for name in listed.stdout.decode().split("\0") if name]
    else:
        folders = ("compliance", "tests", "docs", "sample_jobs")
        names = [str(p.relative_to(ROOT)) for folder in folders for p in (ROOT / folder).rglob("*")] + ["README.md"]
    binary = {".ttf", ".png", ".pyc", ".db"}
    return [ROOT / name for name in names if (ROOT / name).is_file() and (ROOT / name).suffix not in binary]


def test_nothing_in_the_repository_speaks_of_where_it_was_made() -> None:
    """No path of a machine, no name of a package host; this test's own pattern is the one exception."""
    found = []
    for file in tracked():
        if file == Path(__file__):
            continue
        text = file.read_text(encoding="utf-8", errors="replace")
        found += [f"{file.relative_to(ROOT)}: {match[0]}" for match in FOREIGN.finditer(text)]
    assert found == []
