"""Files of entries: TOML, JSON, standard input; figures stay the text they were typed in."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.intake.fromfile import LARGEST, Read, parsed, read_entry
from compliance.intake.run import check_run
from compliance.intake.validate import FILE_KINDS
from compliance.records.problem import Problem

from .making import NOW, pages

NIGHT = """rig = "Big Blue"
lead = "Rosa Iglesias"
date = 2026-09-14
start = 21:30:00
end = 2026-09-15T05:45:00
where = "aboard"
used = 450
recovered = 412.50
ticket = 48213

[[line]]
line = "stop"
site = "Fernwood Plaza"
arrived = 2026-09-14T21:40:00-06:00
"""


def read(text: str, where: str = "f.toml") -> Read:
    found = parsed(text.encode(), where)
    assert isinstance(found, Read), found
    return found


def test_a_figure_without_quotes_is_the_text_that_was_typed() -> None:
    """412.50 keeps its zero; dates and times come as the file's own; nothing passes through a binary number."""
    raw = read(NIGHT).raw
    assert raw["recovered"] == "412.50"
    found = check_run(raw, state=pages().state, where="f.toml", now=NOW)
    assert found.problems == ()
    assert found.payload is not None
    fields = found.payload["fields"]
    assert (fields["used"], fields["recovered"], fields["ticket"]) == ("450 gal", "412.50 gal", "48213")
    assert (fields["date"], fields["start"]) == ("2026-09-14", "2026-09-14T21:30:00-06:00")
    assert fields["end"] == "2026-09-15T05:45:00-06:00"
    assert "date" not in found.payload["typed"]


def test_json_is_read_like_toml() -> None:
    """By its first brace or by its name; figures with a point and large ones stay text."""
    raw = read('{"used": 412.50, "recovered": 12345678901234567890, "x": NaN}', "stdin").raw
    assert raw == {"used": "412.50", "recovered": "12345678901234567890", "x": "NaN"}
    assert isinstance(parsed(b"[1]", "f.json"), Problem)
    assert read('\ufeffrig = "Big Blue"').raw == {"rig": "Big Blue"}


@given(st.decimals(0, 10**6, places=3, allow_nan=False))
def test_every_figure_survives_both_forms(figure: Any) -> None:
    """As typed, digit for digit."""
    assert read(f"used = {figure:f}").raw["used"] == f"{figure:f}"
    assert read(f'{{"used": {figure:f}}}').raw["used"] == f"{figure:f}"


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        (NIGHT, "run"),
        ('kind = "Ticket"', "ticket"),
        ('kind = "same_as"', "same as"),
        ('kind = "nonsense"', "nonsense"),
        ("[business]\nname = 'B'", "registers"),
        ("[[same_as]]\nname = 'B'", "registers"),
        ("[[person]]\nname = 'B'", "registers"),
        ("[[persons]]\nname = 'B'", "registers"),
        ("handovers = []", "ticket"),
        ("[[handovers]]\nrun = 'x'", "ticket"),
        ("run = 'x'\nadd_after = '2'", "complete"),
        ("run = 'x'\n[line_values]\nline = 'stop'", "complete"),
        ("run = 'x'\nfield = 'rain'\nvalue = 'none'", "complete"),
        ("run = 'x'\nfield = 'rain'\nreason = 'read wrong'", "correct"),
        ("run = 'x'\nfield = 'rain'\nwas = 'none'", "correct"),
        ("rule = 'water-5'", "accept"),
        ("remark = 'hello'", "run"),
    ],
)
def test_what_a_file_is_follows_from_what_stands_in_it(text: str, kind: str) -> None:
    """Its key 'kind', or else its keys; without a sign it is a night."""
    assert read(text).kind == kind
    assert kind in FILE_KINDS or kind == "nonsense"


def test_standard_input_is_a_file_without_a_name() -> None:
    """'-' reads it; without one there is a problem, not a wait."""
    found = read_entry("-", io.BytesIO(NIGHT.encode()))
    assert isinstance(found, Read)
    assert found.where == "standard input"
    refused = read_entry("-")
    assert isinstance(refused, Problem)
    assert refused.what == "there is no standard input here"


def test_a_file_is_named_by_its_last_part(tmp_path: Path) -> None:
    """A message shows the name, not the folders above it."""
    path = tmp_path / "1-run.toml"
    path.write_text(NIGHT, encoding="utf-8")
    found = read_entry(str(path))
    assert isinstance(found, Read)
    assert found.where == "1-run.toml"


@pytest.mark.parametrize("name", ["nothing-there.toml", "a\0b.toml", "."])
def test_a_file_that_cannot_be_read_says_why(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not there, not a name, a folder."""
    monkeypatch.chdir(tmp_path)
    refused = read_entry(name)
    assert isinstance(refused, Problem)
    assert refused.what.startswith("the file cannot be read: ")
    assert refused.where == name


def test_a_file_beyond_reason_is_not_parsed() -> None:
    """One byte above the limit."""
    refused = parsed(b"#" * (LARGEST + 1), "f.toml")
    assert isinstance(refused, Problem)
    assert refused.what == "the file is larger than 10 MB"


def test_a_broken_line_is_shown() -> None:
    """Line, column, and the user's own text."""
    refused = parsed(b'rig = "Big Blue"\nlead = \n', "f.toml")
    assert isinstance(refused, Problem)
    assert refused.where == "f.toml, line 2, column 8"
    assert "it says 'lead =' there" in refused.next_step
    blank = parsed(b"x = [1,\n\n, 2]", "f.toml")
    assert isinstance(blank, Problem)


@given(st.binary(max_size=200))
def test_no_bytes_break_the_reader(data: bytes) -> None:
    """Any file is an entry or one clear problem."""
    found = parsed(data, "f")
    assert isinstance(found, Read | Problem)
