"""The table in docs/cautions.md: what is said where a danger is entered."""

from __future__ import annotations

from compliance.devtools.markdown import table
from compliance.intake.cautions import TABLE


def part() -> str:
    """Every caution in both languages, in the order in which they are shown."""
    return table(("danger", "English", "Spanish"), [(one.name, one.en, one.es) for one in TABLE])
