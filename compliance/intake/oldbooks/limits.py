"""How large a file from before the book may be, and the one kind of message for what is beyond.

A workbook is an archive: a small file can unpack to anything. So its directory is looked at before it is unpacked, and
rows and columns are counted while they are read; what the file claims of its own size is never believed.
"""

from __future__ import annotations

from typing import Final

from compliance.records.problem import Problem

FILE: Final = 10_000_000
"""Bytes of the file."""
UNPACKED: Final = 100_000_000
"""Bytes of all that is in a workbook."""
RATIO: Final = 100
"""Times that a workbook may be larger unpacked than packed."""
MEMBERS: Final = 200
"""Files in a workbook."""
ROWS: Final = 20_000
"""Rows with something in them, over all sheets."""
COLUMNS: Final = 200
"""Columns with something in them."""
TEXTS: Final = 250_000
"""Different texts in a workbook, which are read as a whole."""
OTHER_PART: Final = 5_000_000
"""Bytes of any part of a workbook that is read as a whole and holds no cells: styles, names and the like."""
PIECE: Final = 2_000_000
"""Bytes of one cell's text as it is stored: far above what any spreadsheet lets a person type."""
BEGUN: Final = 100_000
"""Rows that a workbook stores at all, the formatted ones with nothing in them included."""
LAST_ROW: Final = 1_048_576
"""The last row of a sheet in any spreadsheet."""
BESIDE: Final = 20_000
"""Links, merged cells, formats by rule and the like, over all sheets: each is built whole before a row is seen."""
PLACES: Final = 1_100_000
"""Rows that are passed over because nothing is in them, and cells of rows that reach far out."""


def beyond(what: str, where: str, next_step: str = "split it, or save only the sheets that are needed") -> Problem:
    """The file is too large in some way."""
    return Problem(f"the file is too large to be read: {what}", where, next_step)


def too_many_rows(where: str) -> Problem:
    """More rows with something in them than are taken."""
    return beyond(f"more than {ROWS:,} rows with something in them", where, "split it, by years for instance")


def too_many_columns(where: str) -> Problem:
    """More columns with something in them than are taken."""
    return beyond(f"more than {COLUMNS} columns with something in them", where, "delete those that are not needed")


def too_much_beside(where: str) -> Problem:
    """More beside the cells than any log holds."""
    step = "copy the cells alone into a new workbook, or save the sheet as .csv"
    return beyond(f"more than {BESIDE:,} links, merged cells, formats and the like beside its cells", where, step)


def far_out(where: str) -> Problem:
    """Empty rows or columns without end between the cells."""
    step = "delete the empty rows and columns between them in a spreadsheet, and save it again"
    return beyond("its cells are spread over millions of empty ones", where, step)
