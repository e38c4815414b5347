"""The examples in the documents hold: Python is run, files pass the validator and the schema."""

from __future__ import annotations

import doctest
import json
import re
import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from compliance.devtools.console import blocks
from compliance.devtools.here import DOCS, ROOT

DOCUMENTS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted(DOCS.glob("*.md"))]
WITH_PYTHON = [file for file in DOCUMENTS if ">>> " in file.read_text(encoding="utf-8")]


@pytest.mark.parametrize("file", WITH_PYTHON, ids=lambda file: file.name)
def test_the_python_of_a_document_says_what_it_says(file: Path) -> None:
    """One session from top to bottom."""
    source = "\n".join(one.body for one in blocks(file.read_text(encoding="utf-8")) if one.kind == "python")
    test = doctest.DocTestParser().get_doctest(source, {}, file.name, str(file), 0)
    said: list[str] = []
    result = doctest.DocTestRunner(verbose=False).run(test, out=said.append)
    assert result.failed == 0, "".join(said)
    assert result.attempted > 0


def test_the_methods_page_works_every_method_with_an_example() -> None:
    """Each formula has numbers under it, and the page is one of those that are run."""
    text = (DOCS / "methods.md").read_text(encoding="utf-8")
    assert DOCS / "methods.md" in WITH_PYTHON
    without = {"Captured", "What is not assumed"}  # worked in balance.md; no formula
    sections = {part.split("\n")[0]: part for part in text.split("\n## ")[1:]}
    for title, part in sections.items():
        assert title in without or ">>> " in part, title


@pytest.mark.parametrize(
    ("schema", "named"), [("schema-run.json", r"night|numbers"), ("schema-registers.json", "registers")]
)
def test_files_in_the_documents_fit_the_published_schema(schema: str, named: str) -> None:
    """Those that are meant to be handed in; that the validator takes them, the console blocks show."""
    validator = Draft202012Validator(json.loads((DOCS / schema).read_text(encoding="utf-8")))
    found = [
        (one.name, tomllib.loads(one.body, parse_float=str))
        for one in blocks((DOCS / "files.md").read_text(encoding="utf-8"))
        if one.kind == "toml" and re.search(named, one.name)
    ]
    assert found
    for name, raw in found:
        assert [error.message for error in validator.iter_errors(raw)] == [], name


def test_a_file_that_is_shown_as_wrong_does_not_fit_the_schema() -> None:
    """The schema can say no."""
    validator = Draft202012Validator(json.loads((DOCS / "schema-run.json").read_text(encoding="utf-8")))
    named = {one.name: one.body for one in blocks((DOCS / "files.md").read_text(encoding="utf-8"))}
    assert not validator.is_valid(tomllib.loads(named["wrong.toml"], parse_float=str))
