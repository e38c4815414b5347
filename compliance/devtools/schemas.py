"""docs/schema-run.json and docs/schema-registers.json, for programs that write files."""

from __future__ import annotations

import json

from compliance.intake.schema import Schema, registers_schema, run_schema


def run() -> str:
    """The schema of a night."""
    return _text(run_schema())


def registers() -> str:
    """The schema of a registers file."""
    return _text(registers_schema())


def _text(schema: Schema) -> str:
    return json.dumps(schema, ensure_ascii=False, indent=1) + "\n"
