"""A figure in one line of a terminal, in English; pages have words of their own."""

from __future__ import annotations

from compliance.records.answer import NOT_YET
from compliance.water.ratio import NoRatio, Ratio
from compliance.water.results import Known
from compliance.water.volume import Figure, Unknown, from_hundredths, shown


def amount(figure: Figure, unit: str, *, divided: bool = False) -> str:
    """'481 ± 8 gal', '450 gal, no ±', 'at least 500 gal', 'not read'; a worked-out share says so."""
    if isinstance(figure, Unknown):
        return str(figure.kind)
    text = f"{shown(figure).text} {unit}"
    if divided:
        return f"{figure.best:,.2f} {unit}, worked out" if figure.best is not None else text
    return text if figure.expanded() is not None else f"{text}, no ±"


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
    """'0.866 (0.846 to 0.887)', or why there is none."""
    if isinstance(found, NoRatio):
        return f"none: {found.why}"
    bounds = f" ({found.low:.3f} to {found.high:.3f})" if found.low is not None and found.high is not None else ""
    end = {"at most": found.high, "at least": found.low}.get(found.kind)
    shown = found.value if end is None else end
    value = f"{shown:.3f}" if shown is not None else "a range"
    before = f"{found.kind} " if found.kind in ("at most", "at least") else ""
    after = "" if found.kind == "measured" or not found.no_plus_minus or found.note else ", no ±"
    text = f"{before}{value}{bounds}{after}"
    return f"{text}; {found.note}" if found.note else text
