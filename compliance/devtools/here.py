"""The checkout that the documents belong to."""

from __future__ import annotations

from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parents[2]
DOCS: Final = ROOT / "docs"
TESTS: Final = ROOT / "tests"
