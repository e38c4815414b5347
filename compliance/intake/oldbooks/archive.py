"""A workbook as an archive: looked at from outside, and walked through byte by byte, before any of it is parsed."""

from __future__ import annotations

import io
import re
import zlib
from collections.abc import Iterator
from typing import Final
from zipfile import BadZipFile, ZipFile, ZipInfo

from compliance.intake.oldbooks import limits
from compliance.records.problem import Problem
from compliance.records.quick import dataclass

_CHUNK: Final = 1 << 18
_ROW: Final = re.compile(rb"<(?:\w+:)?row[\s>/]")
_FAR: Final = re.compile(rb'<(?:\w+:)?row\s[^>]*?\br="(\d{7,})"')
_CONTENT: Final = re.compile(rb"<(?:\w+:)?(?:v|is|f)[\s>]")
_FORMULA: Final = re.compile(rb"<(?:\w+:)?f[\s>/]")
_HIDDEN: Final = re.compile(rb"<(?:\w+:)?row\b[^<>]*\bhidden\s*=\s*[\"'](?:1|true)")
_BESIDE: Final = re.compile(rb"<(?!/|(?:c|v|row|f|is|t|r)[\s/>])(?!\w+:(?:c|v|row|f|is|t|r)[\s/>])")
"""The start of any element of a sheet that is neither a row nor a cell nor what stands in one."""
_TEXT: Final = re.compile(rb"<(?:\w+:)?si[\s>/]")
_QUOTED: Final = re.compile(rb"<!--|<!\[CDATA\[")
_DECLARES: Final = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_CELLS: Final = "xl/worksheets/"
_TEXTS: Final = "xl/sharedstrings.xml"
_READ_WHOLE: Final = (".xml", ".rels")
_LONGEST_TAG: Final = 200
"""Bytes kept from one piece to the next, so that no tag is missed where a piece ends."""


@dataclass(frozen=True)
class Archive:
    """A workbook that may be parsed. formulas, hidden: the parts in which cells are worked out, or rows are hidden."""

    data: bytes
    formulas: frozenset[str]
    hidden: frozenset[str]


def looked_through(data: bytes, where: str) -> Archive | Problem:
    """Look at the directory of a workbook, then at its parts; the first thing that is wrong ends it."""
    try:
        with ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
            problem = _directory(members, len(data), where)
            if problem is not None:
                return problem
            return _parts(archive, members, data, where)
    except (BadZipFile, zlib.error, NotImplementedError, EOFError, OSError, ValueError, RuntimeError) as error:
        return broken(error, where)


def broken(error: Exception, where: str) -> Problem:
    """The file says that it is a workbook and cannot be read as one."""
    said = " ".join(str(error).split())[:120] or type(error).__name__
    return Problem(
        f"the workbook is damaged or no workbook: {said}",
        where,
        "open it in a spreadsheet and save it again as .xlsx or .csv",
    )


def _directory(members: list[ZipInfo], size: int, where: str) -> Problem | None:
    if len(members) > limits.MEMBERS:
        return limits.beyond(f"{len(members):,} files are in it, {limits.MEMBERS} at most", where)
    if any(member.flag_bits & 1 for member in members):
        return Problem("the workbook is locked with a password", where, "save it without a password")
    names = [member.filename.lower() for member in members]
    if len(set(names)) < len(names):
        return Problem("the workbook is damaged: a part is in it twice", where, "save it again from a spreadsheet")
    if "[content_types].xml" not in names or not any(name.startswith("xl/") for name in names):
        step = "old books are read from .xlsx, .csv and .tsv: open it in a spreadsheet and save it as one of these"
        return Problem("the file is an archive, and no workbook", where, step)
    unpacked = sum(member.file_size for member in members)
    if unpacked > limits.UNPACKED:
        return limits.beyond(f"{unpacked:,} bytes unpacked, {limits.UNPACKED:,} at most", where)
    if unpacked > limits.RATIO * size:
        return limits.beyond(
            f"{size:,} bytes unpack to {unpacked:,}, more than {limits.RATIO} times as much",
            where,
            "open it in a spreadsheet, delete the empty rows and columns, and save it again",
        )
    for member, name in zip(members, names, strict=True):
        read_whole = name.endswith(_READ_WHOLE) and not name.startswith(_CELLS) and name != _TEXTS
        if read_whole and member.file_size > limits.OTHER_PART:
            return limits.beyond(f"{name} has {member.file_size:,} bytes, {limits.OTHER_PART:,} at most", where)
    return None


def _parts(archive: ZipFile, members: list[ZipInfo], data: bytes, where: str) -> Archive | Problem:
    formulas, hidden = set(), set()
    rows = begun = beside = 0
    for member in members:
        name = member.filename.lower()
        if not name.endswith(_READ_WHOLE):
            continue
        found = _Part()
        for piece, fresh in _pieces(archive, member):
            found.look(piece, fresh, texts=name == _TEXTS, cells=name.startswith(_CELLS))
            if found.declares:
                step = "it was made to do harm, or by a broken program: do not use it"
                return Problem("the workbook declares texts of its own (a document type), which none does", where, step)
            if found.longest > limits.PIECE:
                return limits.beyond(f"one text of more than {limits.PIECE:,} bytes", where, "shorten it")
            if found.texts > limits.TEXTS:
                return limits.beyond(f"more than {limits.TEXTS:,} different texts", where)
            if rows + found.rows > limits.ROWS:
                return limits.too_many_rows(where)
            if found.far or begun + found.begun > limits.BEGUN:
                return limits.far_out(where)
            if beside + found.beside > limits.BESIDE:
                return limits.too_much_beside(where)
        rows, begun, beside = rows + found.rows, begun + found.begun, beside + found.beside
        if found.formulas:
            formulas.add(member.filename)
        if found.hidden:
            hidden.add(member.filename)
    return Archive(data, frozenset(formulas), frozenset(hidden))


def _pieces(archive: ZipFile, member: ZipInfo) -> Iterator[tuple[bytes, int]]:
    """A part in pieces that overlap a little, and where the fresh bytes of each begin."""
    tail = b""
    with archive.open(member) as part:
        while piece := part.read(_CHUNK):
            yield tail + piece, len(tail)
            tail = (tail + piece)[-_LONGEST_TAG:]


class _Part:
    """What was seen of one part so far: counts that stop a flood early; the exact count is made while reading."""

    def __init__(self) -> None:
        self.rows = 0
        self.begun = 0
        self.beside = 0
        self.texts = 0
        self.longest = 0
        self.formulas = False
        self.hidden = False
        self.far = False
        self.declares = False
        self._seen = 0
        self._since_tag = 0
        self._until = b""
        self._row_counted = True

    def look(self, piece: bytes, fresh: int, *, texts: bool, cells: bool) -> None:
        if self._seen == 0:
            self.declares = _DECLARES.search(piece[:4096]) is not None
        self._seen += len(piece)
        self._run(piece, fresh)
        if texts:
            self.texts += _starts(_TEXT, piece, fresh)
        if cells:
            self.formulas = self.formulas or _FORMULA.search(piece) is not None
            self.hidden = self.hidden or _HIDDEN.search(piece) is not None
            self.far = self.far or any(int(match[1]) > limits.LAST_ROW for match in _FAR.finditer(piece))
            self.beside += _starts(_BESIDE, piece, fresh)
            self._count_rows(piece, fresh)

    def _run(self, piece: bytes, at: int) -> None:
        """The longest run of bytes that a parser has to hold at once: between two tags, in a comment or quoted."""
        while at < len(piece):
            if self._until:
                end = piece.find(self._until, max(0, at - len(self._until) + 1))
                stop = len(piece) if end < 0 else end + len(self._until)
                self._until = self._until if end < 0 else b""
                self._grow(stop - at)
            else:
                quoted = _QUOTED.search(piece, at)
                stop = len(piece) if quoted is None else quoted.end()
                self._between_tags(piece, at, stop)
                if quoted is not None:
                    self._until = b"-->" if quoted[0] == b"<!--" else b"]]>"
            at = stop

    def _between_tags(self, piece: bytes, at: int, stop: int) -> None:
        first = piece.find(b"<", at, stop)
        self._grow((stop if first < 0 else first) - at)
        if first >= 0:
            self._since_tag = stop - piece.rfind(b"<", at, stop)

    def _grow(self, by: int) -> None:
        self._since_tag += by
        self.longest = max(self.longest, self._since_tag)

    def _count_rows(self, piece: bytes, fresh: int) -> None:
        """Count rows that hold anything, each once; a row that is only formatted is no row."""
        begins = [match.start() for match in _ROW.finditer(piece) if match.end() > fresh]
        self.begun += len(begins)
        before = piece[fresh : begins[0] if begins else len(piece)]
        if not self._row_counted and _CONTENT.search(before):
            self.rows += 1
            self._row_counted = True
        for begin, end in zip(begins, [*begins[1:], len(piece)], strict=False):
            self._row_counted = _CONTENT.search(piece, begin, end) is not None
            self.rows += self._row_counted


def _starts(pattern: re.Pattern[bytes], piece: bytes, fresh: int) -> int:
    return sum(match.end() > fresh for match in pattern.finditer(piece))
