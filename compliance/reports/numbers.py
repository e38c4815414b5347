"""Figures as a page prints them: rounded to their own uncertainty, and never saying more than is known.

A decimal point and a US thousands comma in both languages, so that two pages of one job show the same digits.
Rounding of measured figures is `water.shown.shown`; here its words are put into the page's language.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from compliance.records.answer import without_value
from compliance.records.measure import WITHOUT_INSTRUMENT
from compliance.records.quantity import Quantity, stored
from compliance.reports.model import NO_ANSWER, Cell
from compliance.reports.words import Words
from compliance.water.ratio import NoRatio, Ratio, in_percent
from compliance.water.results import Known
from compliance.water.shown import number, shown
from compliance.water.volume import HUNDREDTH, SHARES, Figure, Unknown, Volume, from_hundredths

_SAID = tuple(f"{method}:" for method in WITHOUT_INSTRUMENT)
"""How the sources of figures are named that are somebody's word: these are printed with the digits that were said."""


def signed(text: str) -> str:
    """Digits with a real minus sign, which does not break off at the end of a line."""
    return f"−{text[1:]}" if text.startswith("-") else text


def figure_text(figure: Figure, unit: str, words: Words) -> str:
    """'481 ± 8 gal', '450 gal (stated, no ±)', '112.40 gal, worked out, not measured', 'at least 500 gal'."""
    if isinstance(figure, Unknown):
        return words.unknown(figure.kind)
    text, key = _digits(figure, unit, words), mark(figure)
    return words(key, amount=text) if key else text


def known_text(known: Known, unit: str, words: Words) -> str:
    """The same; what a person said with 'about' keeps its sign: '~450 gal (stated, no ±)'."""
    text = figure_text(known.figure, unit, words)
    said_about = known.how.method in WITHOUT_INSTRUMENT and known.how.formula.lstrip().startswith("~")
    return f"~{text}" if said_about and isinstance(known.figure, Volume) else text


def mark(volume: Volume) -> str:
    """The catalogue key that says why a figure has no ±; '' where it has one, or is a bound, which says it itself."""
    if not volume.unstated:
        return ""
    shares = volume.unstated & SHARES
    if shares:
        return "mark.worked_out" if shares == volume.unstated and not volume.parts else "mark.partly"
    if not volume.is_point:
        return ""
    if all(source.startswith(_SAID) for source in volume.unstated):
        return "mark.stated" if not volume.parts else "mark.partly_stated"
    return "mark.none"


def figure_cell(figure: Figure, unit: str, words: Words) -> Cell:
    """The cell of a figure; it counts as a number only when the text says no more than number, unit and ±."""
    return _cell(figure, figure_text(figure, unit, words), unit)


def known_cell(known: Known, unit: str, words: Words) -> Cell:
    """The cell of a figure with its method in mind."""
    return _cell(known.figure, known_text(known, unit, words), unit)


def bare_cell(figure: Figure, unit: str, words: Words) -> Cell:
    """A figure under a heading that already says how it is known: its digits, and ± where there is one."""
    if isinstance(figure, Unknown):
        return Cell(words.unknown(figure.kind), tone="muted")
    text = _digits(figure, unit, words)
    if not figure.is_point:
        return Cell(text)
    return Cell(text, str(_kept(figure.low or Decimal(0))), unit, _plus_minus(figure))


def column_cell(volume: Volume, unit: str, words: Words) -> Cell:
    """A figure in a column whose heading says its unit and how it is known: digits and ± alone."""
    cell = bare_cell(volume, unit, words)
    return Cell(cell.text.removesuffix(f" {unit}"), cell.number, cell.unit, cell.plus_minus)


def share_text(amount: int, unit: str, words: Words) -> str:
    """A worked-out share, '112.40 gal, worked out, not measured'."""
    return words("mark.worked_out", amount=hundredths_text(amount, unit))


def share_cell(amount: int, unit: str, words: Words, *, said: bool = True) -> Cell:
    """The cell of a worked-out share. said: the cell itself says so; False where its column does."""
    if said:
        return Cell(share_text(amount, unit, words))
    return Cell(hundredths_text(amount, unit), str(from_hundredths(amount)), unit)


def hundredths_text(amount: int, unit: str) -> str:
    """Whole hundredths of a unit, '112.40 gal'."""
    return f"{signed(number(from_hundredths(amount)))} {unit}"


def quantity_text(value: object, words: Words) -> str:
    """A stored quantity with the digits and the unit that were typed, or the answer that stands in its place."""
    kind = without_value(value)
    if kind is not None:
        return words.unknown(kind)
    try:
        found = stored(str(value))
    except ValueError:
        return str(value)
    return _quantity(found, words)


def typed_text(value: object, words: Words) -> str:
    """A stored text, count, choice or moment as it was typed, or the answer that stands in its place."""
    kind = without_value(value)
    return str(value) if kind is None else words.unknown(kind)


def told_text(value: object, what: str, key: str, words: Words) -> str:
    """A stored text among others, as it was typed; without one, of what there is none: 'address: not recorded yet'."""
    label = words.label(what, key)
    return str(value) if answered(value) else f"{label[0].lower()}{label[1:]}: {typed_text(value, words)}"


def answered(value: object) -> bool:
    """Whether somebody gave an answer with a value."""
    return without_value(value) is None


def ratio_text(ratio: Ratio | NoRatio, words: Words) -> str:
    """'94 % (90 to 98 %)', '95 % (stated, no ±)', 'at most 97 %', or that there is none and why."""
    if isinstance(ratio, NoRatio):
        return words("ratio.none", why=words.clause(ratio.why))
    if ratio.value is None:
        if ratio.low is None or ratio.high is None:
            return words("ratio.none", why=words.clause(ratio.note))
        ends = percent(ratio.low, ROUND_FLOOR), percent(ratio.high, ROUND_CEILING)
        return words("ratio.between", low=ends[0], high=ends[1])
    value = percent(ratio.value)
    match ratio.kind:
        case "at most" | "at least":
            end = ratio.high if ratio.kind == "at most" else ratio.low  # a bound with a ± ends where its interval does
            outwards = ROUND_CEILING if ratio.kind == "at most" else ROUND_FLOOR
            text = words(f"ratio.{ratio.kind}", value=percent(ratio.value if end is None else end, outwards))
        case "measured" if ratio.low is not None and ratio.high is not None:
            text = words("ratio.interval", value=value, low=percent(ratio.low), high=percent(ratio.high))
        case _:
            text = words("ratio.value", value=value)
    return f"{text} ({words.clause(ratio.note)})" if ratio.note else text


def ratio_cell(ratio: Ratio | NoRatio, words: Words) -> Cell:
    """The cell of a ratio for a chart: number and interval in percent where the ratio is measured, else words alone.

    'At most' and 'at least' have the end that they have and no number.
    """
    text = ratio_text(ratio, words)
    if isinstance(ratio, NoRatio):
        return Cell(text)
    low, high = (None if end is None else str(in_percent(end)) for end in (ratio.low, ratio.high))
    if ratio.value is None or ratio.kind not in ("measured", "stated", "worked out"):
        return Cell(text, unit="%", low=low, high=high)
    plus_minus = None
    if ratio.kind == "measured" and ratio.low is not None and ratio.high is not None:
        # the interval is not quite symmetric; a spreadsheet takes its longer side, so that it never looks narrower
        plus_minus = str(in_percent(max(ratio.high - ratio.value, ratio.value - ratio.low)))
        return Cell(text, str(in_percent(ratio.value)), "%", plus_minus, low=low, high=high)
    return Cell(text, str(in_percent(ratio.value)), "%")


def ratio_cells(ratio: Ratio | NoRatio, words: Words) -> tuple[Cell, Cell, Cell]:
    """A ratio in percent and the two ends of its interval, each a number; one without an interval in words alone."""
    whole, none = ratio_cell(ratio, words), NO_ANSWER
    if whole.number is None or whole.low is None or whole.high is None:
        return Cell(whole.text), none, none
    value, low, high = (Cell(signed(number(Decimal(one))), one, "%") for one in (whole.number, whole.low, whole.high))
    return value, low, high


def depth_cell(inches: Volume, words: Words) -> Cell:
    """A depth of water under a heading that names its unit; a number where it is one."""
    text = depth_text(inches, words)
    return (
        Cell(text, str(_kept(inches.low)), words.unit("in"))
        if inches.is_point and inches.low is not None
        else Cell(text)
    )


def depth_text(inches: Volume, words: Words) -> str:
    """A depth of water to the hundredth of an inch, without its unit; a bound says that it is one."""
    ends = [None if end is None else number(_kept(end)) for end in (inches.low, inches.high)]
    low, high = ends
    if low is not None and (low == high or high is None):
        return low if high is not None else f"{words('figure.at least')} {low}"
    if high is not None:
        at_most = f"{words('figure.at most')} {high}"
        return at_most if low is None else f"{words('figure.between')} {low} {words('figure.and')} {high}"
    return words.unknown("not known")


def percent(fraction: Decimal, rounding: str = ROUND_HALF_EVEN) -> str:
    """A fraction in percent, one decimal. rounding: see `ratio.in_percent`."""
    return signed(number(in_percent(fraction, rounding)))


def plain(value: Decimal) -> str:
    """Digits as they stand, without an exponent or zeros behind that nobody measured."""
    text = number(value)
    return signed(text.rstrip("0").rstrip(".") if "." in text else text)


def _kept(value: Decimal) -> Decimal:
    return value.quantize(HUNDREDTH, ROUND_HALF_EVEN)


def _plus_minus(volume: Volume) -> str | None:
    found = shown(volume).plus_minus
    return None if found is None else str(found)


def _cell(figure: Figure, text: str, unit: str) -> Cell:
    if isinstance(figure, Unknown):
        return Cell(text, tone="muted")
    if not figure.is_point or figure.unstated or figure.low is None:
        return Cell(text)
    return Cell(text, str(_kept(figure.low)), unit, _plus_minus(figure))


def _digits(volume: Volume, unit: str, words: Words) -> str:
    """Shares to the hundredth, stated figures as they were said, all others rounded to their ±."""
    if volume.low is not None and volume.is_point:
        key = mark(volume)
        if key == "mark.worked_out":
            return f"{signed(number(_kept(volume.low)))} {unit}"
        if key == "mark.stated" and volume.low == _kept(volume.low):
            return f"{plain(_kept(volume.low))} {unit}"
    spoken = {"at least", "at most", "between", "and", "any amount"}
    pieces = [words(f"figure.{piece}") if piece in spoken else signed(piece) for piece in shown(volume).pieces]
    return f"{' '.join(pieces)} {unit}"


def _quantity(found: Quantity, words: Words) -> str:
    unit = words.unit(found.unit)
    tail = f" {unit}" if unit else ""
    if found.point is not None:
        return f"{'~' if found.about else ''}{signed(number(found.point))}{tail}"
    if found.low is None or found.high is None:
        key, one = ("at least", found.low) if found.high is None else ("at most", found.high)
        return f"{words(f'figure.{key}')} {number(one or Decimal(0))}{tail}"
    between = f"{words('figure.between')} {number(found.low)} {words('figure.and')} {number(found.high)}"
    return f"{between}{tail}"
