"""What is made from the code is what the code makes of it."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from compliance.cli.main import COMMANDS
from compliance.devtools import commandpage, errorpage, fieldpage, generated, outside
from compliance.devtools.__main__ import devtools
from compliance.devtools.generated import Generated
from compliance.devtools.here import DOCS
from compliance.records.fields import GROUPS, TRUCK, Field
from compliance.rules.catalogue import ALL as RULES


@pytest.mark.parametrize("one", generated.ALL, ids=lambda one: one.file)
def test_a_generated_document_is_current(one: Generated) -> None:
    """Else run `python -m compliance.devtools docs`."""
    assert one.stands() == one.wanted()


@pytest.fixture
def copied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The documents in a folder of their own, with one that is stale and one that is gone."""
    copy = shutil.copytree(DOCS, tmp_path / "docs")
    (copy / "fields.md").write_text("old\n", encoding="utf-8")
    (copy / "schema-run.json").unlink()
    text = (copy / "cautions.md").read_text(encoding="utf-8")
    (copy / "cautions.md").write_text(text.replace("| old paint |", "| new paint |"), encoding="utf-8")
    monkeypatch.setattr(generated, "DOCS", copy)
    return copy


def test_a_stale_document_is_named_with_the_command_that_mends_it(copied: Path) -> None:
    """The check writes nothing and leaves with 1; writing mends all of it; the check then leaves with 0."""
    runner = CliRunner()
    found = runner.invoke(devtools, ["docs", "--check"])
    assert found.exit_code == 1
    for name in ("fields.md", "schema-run.json", "cautions.md"):
        assert f"docs/{name} is stale; run: python -m compliance.devtools docs" in found.output
    assert found.output.count("is stale") == 3
    assert (copied / "fields.md").read_text(encoding="utf-8") == "old\n"
    written = runner.invoke(devtools, ["docs"])
    assert written.exit_code == 0
    assert sorted(written.output.split()) == sorted(
        ["wrote", "docs/fields.md", "wrote", "docs/schema-run.json", "wrote", "docs/cautions.md"]
    )
    assert runner.invoke(devtools, ["docs", "--check"]).exit_code == 0
    assert (copied / "cautions.md").read_text(encoding="utf-8") == (DOCS / "cautions.md").read_text(encoding="utf-8")


def test_a_document_without_its_marks_is_refused(copied: Path) -> None:
    """A part cannot be written into a file that does not say where."""
    (copied / "commands.md").write_text("# Commands\n", encoding="utf-8")
    with pytest.raises(ValueError, match="no part marked 'commands'"):
        list(generated.stale())


def test_every_command_says_what_it_does_and_so_does_each_of_its_options() -> None:
    """A command without a docstring, or an option without help, is named."""
    assert list(commandpage.undocumented()) == []


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_documented(name: str) -> None:
    """With its own heading, to which links point."""
    assert f'<a id="{name}"></a>{name}\n' in (DOCS / "commands.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_every_rule_is_documented(rule) -> None:  # type: ignore[no-untyped-def]  # the row of any rule
    """By id and slug."""
    assert f'<a id="{rule.id}"></a>{rule.id} {rule.slug}' in (DOCS / "rules.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("group", GROUPS)
def test_every_field_is_documented(group: str) -> None:
    """With its English and its Spanish label."""
    text = (DOCS / "fields.md").read_text(encoding="utf-8")
    section = text.split(f"\n### {group}\n")[1].split("\n#")[0]
    for row in GROUPS[group]:
        assert f"| `{row.name}` | {row.en} | {row.es} |" in section


def test_every_message_of_the_corpus_is_documented() -> None:
    """The words of each expected text stand in docs/errors.md."""
    text = (DOCS / "errors.md").read_text(encoding="utf-8")
    for case in errorpage.cases():
        first = case.with_suffix(".txt").read_text(encoding="utf-8").splitlines()[0]
        assert first[: errorpage.LONGEST] in text


def test_no_test_that_is_named_beside_an_outside_value_is_missing() -> None:
    """Renaming a test breaks this page, not its promise."""
    assert list(outside.missing()) == []


def test_an_outside_value_has_a_test_or_a_reason() -> None:
    """Never both, never neither, and most of them have a test."""
    rows = [row for _, _, found in outside.sections() for row in found]
    assert all(bool(row.tests) != bool(row.unused) for row in rows)
    assert sum(bool(row.tests) for row in rows) > len(rows) / 2
    with pytest.raises(ValueError, match="give tests or why it is unused"):
        outside._row({"value": "v", "source": "s", "mark": "read"})


def test_the_schemas_are_json() -> None:
    """For programs that never see this repository's code."""
    for name in ("schema-run.json", "schema-registers.json"):
        assert json.loads((DOCS / name).read_text(encoding="utf-8"))["$schema"].startswith("https://json-schema.org/")


def test_a_field_that_came_later_says_from_which_day_on_it_is_wanted() -> None:
    """And one that was always there says no day."""
    came = Field("hoses", "Hoses", "Mangueras", need=TRUCK, since="2026-10-01")
    assert fieldpage._wanted(came) == f"{fieldpage._NEEDS[TRUCK]}, from 2026-10-01 on"
    assert fieldpage._wanted(replace(came, since="")) == fieldpage._NEEDS[TRUCK]
