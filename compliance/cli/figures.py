"""A figure in one line of a terminal, in English; pages have words of their own."""

from __future__ import annotations

from compliance.records.answer import NOT_YET
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import Known
from compliance.water.shown import shown
from compliance.water.volume import SHARES, Figure, Unknown, from_hundredths


def amount(figure: Figure, unit: str, *, divided: bool = False) -> str:
    """'481 ± 8 gal', '450 gal, no ±', 'at least 500 gal', 'not read'; a share, or what has one in it, says so."""
    if isinstance(figure, Unknown):
        return str(figure.kind)
    text = f"{shown(figure).text} {unit}"
    if divided:
        return f"{figure.best:,.2f} {unit}, worked out" if figure.best is not None else text
    if figure.expanded() is not None:
        return text
    shares = figure.unstated & SHARES
    if not shares:
        return f"{text}, no ±"
    return f"{text}, worked out" if shares == figure.unstated and not figure.parts else f"{text}, partly worked out"


def told(known: Known, unit: str, *, divided: bool = False) -> str:
    """A figure with its method."""
    figure = amount(known.figure, unit, divided=divided)
    how = known.how
    if isinstance(known.figure, Unknown):
        return f"{figure} ({known.figure.reason})" if known.figure.kind != NOT_YET else figure
    return f"{figure}  [{how.method}: {how.formula}]" if how.formula else f"{figure}  [{how.method}]"


def hundredths_of(amount: int, unit: str) -> str:
    """Hundredths as an exact figure."""
    return f"{from_hundredths(amount):,.2f} {unit}"


def ratio(found: Ratio | NoRatio) -> str:
    """'86.6 % (between 84.6 % and 88.7 %)', as on pages, or why there is none."""
    from compliance.reports.numbers import ratio_text
    from compliance.reports.words import Words

    return f"none: {found.why}" if isinstance(found, NoRatio) else ratio_text(found, Words("en"))
