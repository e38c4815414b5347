"""The query tables, each column once: their SQL and their documentation both come from here.

An amount is three columns: `used` in whole hundredths of the book's unit, `used_pm` the ± at about 95 % (k = 2) in
the same, `used_state` how it is known. Where there is no single figure the number is NULL and the state says why, so
that a sum leaves it out and a reader can count what it left out; it is never zero for want of knowing.
"""

from __future__ import annotations

from typing import Final, Literal

from compliance.records.quick import dataclass

LAYOUT: Final = 3
"""The version of these tables and of what is put into them."""

MEASURED, STATED, WORKED_OUT, EXACT = "measured", "stated", "worked out", "exact"
NONE_RECORDED: Final = "none recorded"
STATES: Final = {
    MEASURED: "read from instruments or marks of stated accuracy",
    STATED: "somebody's word, or an instrument whose accuracy nobody stated: no ±",
    WORKED_OUT: "a share of what several stops brought, not measured: no ±",
    EXACT: "without doubt, like a tank that was seen empty",
    "at least N, at most N, between N and M": "a bound, not a figure: the number is NULL",
    "not read": "somebody was asked and did not look",
    "not known": "no honest figure exists",
    "not applicable": "the question does not arise",
    "not recorded yet": "nobody has answered",
    NONE_RECORDED: "no such water was written down",
}
"""What stands in the `_state` columns."""


@dataclass(frozen=True)
class Column:
    """One column. type: 'whole' numbers may be NULL, 'text' never is ('' where nothing was asked)."""

    name: str
    about: str
    type: Literal["text", "whole"] = "text"


@dataclass(frozen=True)
class Table:
    """One table. key: the columns that tell its rows apart; a name that people use is none, since it may change."""

    name: str
    about: str
    key: tuple[str, ...]
    columns: tuple[Column, ...]


def _amounts(**about: str) -> tuple[Column, ...]:
    return tuple(column for name, words in about.items() for column in _amount(name, words))


def _amount(name: str, about: str) -> tuple[Column, ...]:
    return (
        Column(name, f"{about}, in hundredths of the book's unit", "whole"),
        Column(f"{name}_pm", "its ± at about 95 %, in the same; NULL where there is none", "whole"),
        Column(f"{name}_state", "how it is known, or why not"),
    )


def _texts(**about: str) -> tuple[Column, ...]:
    return tuple(Column(name, words) for name, words in about.items())


def _wholes(**about: str) -> tuple[Column, ...]:
    return tuple(Column(name, words, "whole") for name, words in about.items())


_RATIO: Final = (
    *_wholes(
        ratio="recovery ratio, captured over applied, in ten-thousandths: 8628 is 0.8628; only where it is one figure",
        ratio_low="lower end of its interval at about 95 %, in the same",
        ratio_high="upper end of its interval",
    ),
    Column("ratio_state", "'measured', 'stated', 'worked out', a bound in words, or 'none: ' and why"),
)

FIGURES: Final = (
    Table("runs", "One rig, one outing. Cancelled ones too: their amounts are 'not applicable'.", ("record",), (
        *_texts(
            run="how people name it: its day and rig", record="id of its hand-in", rig="rig", lead="crew lead",
            crew="the other names", date="day on which it started", started="start, with offset", ended="end",
            water_at="where the water is, as answered", off="why the run was off, '' when it was not",
            cancelled="why its record was cancelled, '' when it was not", received="when the book received it",
            who="who handed it in", supply="where the fresh water came from", got_away="whether water got away",
            drains="how the drains were kept", agent_use="whether a cleaning agent was used", filters="filters",
            rain="rain", ticket="ticket, as said of the run", remark="remark",
        ),
        *_wholes(stops="stops worked"),
        *_amounts(
            used="fresh water drawn (what a meter at a site counted of several rigs is in no table: see `balance`)",
            used_again="recovered water used again", applied="out of the gun: both together",
            captured="into the recovery tank", aboard_before="in the rig's tanks at the start",
            aboard_after="in the rig's tanks at the end", handed_over="handed over", led_away="led away",
            escaped="got away", let_go="let go", not_explained="not explained; may be below zero",
        ),
        *_RATIO,
        *_wholes(
            film_low="film that may stay on the surface, an assumption: lower end, hundredths; NULL without an area",
            film_high="upper end",
        ),
    )),
    Table("stops", "One rig at one site, lines of the same stop together.", ("record", "number"), (
        *_texts(
            stop="how people name it", run="its run", record="id of the run's hand-in", rig="rig",
            date="day of the run", job="its job; a stop without one is its own", client="client", site="site",
            surface="surface",
            not_worked="why it was not worked, '' when it was", arrived="arrival", departed="departure",
            used_basis="how the used water of the run was put on the stop",
            captured_basis="how the captured water was divided", why="why it could not be divided, '' when it could",
        ),
        *_wholes(
            number="its place in the run", worked="1 when it was worked", planned="1 when recovery was planned",
        ),
        *_amounts(
            area="area washed (square feet, not the book's unit)",
            used="fresh water drawn (what a meter at a site counted of several rigs is in no table: see `balance`)",
            used_again="recovered water used again", captured="into the recovery tank", led_away="led away",
            escaped="got away before it was captured", not_explained="not explained; may be below zero",
        ),
    )),
    Table("loads", "The recovered water of one tank from empty to empty.", ("record", "load"), (
        *_texts(
            load="how people name it", rig="rig", tank="tank", record="id of the run in which it was opened",
            opened_run="that run", opened_line="line of it", opened_on="day of it",
            closed_run="run in which the tank was empty again, '' while the load is aboard", closed_line="line of it",
            closed_on="day of it", why="why its division is unknown, '' when it is known",
        ),
        *_wholes(divided="1 when its water was divided among several stops", stops="stops whose water is in it"),
        *_amounts(
            opening="in the tank at the start", captured="captured", foreign_water="rain and other water that came in",
            agent="agent put into the tank", handed_over="handed over", used_again="used again",
            otherwise_out="moved, escaped or taken out", closing="in the tank at the end",
            not_explained="not explained; may be below zero",
        ),
        *_RATIO,
    )),
    Table("handovers", "Water that left for a place: handed over, or led away without entering the tank.",
          ("record", "line"), (
        *_texts(
            record="id of the run's hand-in", line="line, '' where only the run's own answer tells of it", run="run",
            way="'handed over' or 'led away'", load="load it was drawn from, '' when led away", date="day of it",
            at="time, with offset", place="place", place_kind="kind of place", connection="kind of connection",
            permission="permission named", handed_over_by="handed over by", received_by="received by",
            ticket="ticket as said of the handover", tickets="numbers of the tickets that came for it",
            refused="why it was refused, '' when it was taken", ph="pH as read", ph_method="pH read with",
            accepted_from="where the accepted amount stands: 'ticket', 'line' or ''",
        ),
        *_amounts(amount="our own volume", accepted="accepted by the place; never changes ours"),
    )),
    Table("pieces", "Where each stop's captured water went, part by part.", ("n",), (
        *_wholes(n="number of the row"),
        *_texts(
            stop="stop", run="its run", record="id of the run's hand-in",
            way="'handed over', 'used again', 'escaped', 'moved', 'solids', 'not known where', 'aboard', "
            "'not explained' or 'not known'",
            load="load", to_record="id of the run in which it left", to_run="that run", to_line="line of it",
            place="place it went to",
        ),
        *_amounts(amount="how much"),
    )),
    Table("escapes", "Water that was seen to get away.", ("record", "line"), (
        *_texts(
            record="id of the run's hand-in", line="line", run="run", stop="stop it belongs to", what="what happened",
            reached="what it reached", from_tank="tank it came out of, '' when it never was in one", at="time",
            stopped="how it was stopped", told="who was told",
        ),
        *_amounts(amount="how much"),
    )),
    Table("changes", "What was corrected, completed or added, with both values.", ("n",), (
        *_wholes(n="number of the row"),
        *_texts(
            record="id of the change", run="run", run_record="id of its hand-in", line="line, '' for the run",
            field="field, '' for a line that was added", was="what stood there before", now="what stands there now",
            kind="'correct' or 'complete'", reason="keyed wrong or read wrong", why="why", who="who says so",
            received="when the book received it",
        ),
    )),
)  # fmt: skip
"""The tables whose rows belong to runs, by the column `record` (`run_record` where that is taken)."""

PAPERS: Final = (
    Table("tickets", "Tickets that came, cancelled ones left out.", ("record",), (
        *_texts(
            record="id", ticket="number", place="place", date="date on it", received_by="received by",
            refused="why the load was refused, '' when it was taken", remark="remark",
            received="when the book received it",
        ),
        *_amounts(accepted="accepted"),
    )),
    Table("ticket_handovers", "Which handovers a ticket is for.", ("record", "run_record", "line"), _texts(
        record="id of the ticket", ticket="its number", run_record="id of the run's hand-in", run="run", line="line",
    )),
    Table("attachments", "Files kept with records.", ("record",), (
        *_texts(
            record="id", about="id of the record it is kept with", run="run, '' when it is kept with something else",
            line="line, '' for all of it", name="name of the file", sha256="SHA-256 of its bytes", media="media type",
            what="what it shows",
        ),
        *_wholes(size="bytes"),
    )),
    Table("issued", "Pages that went out.", ("record",), (
        *_texts(
            record="id", number="number of the page", page="kind of page", about="what it is about", date="date",
            replaces="number of the page it replaces, ''", root="root of the book when it was made",
        ),
        *_wholes(size="records in the book when it was made"),
    )),
    Table("issued_figures", "Figures as they were printed on a page.", ("record", "figure"), _texts(
        record="id of the page's record", number="number of the page", figure="name of the figure",
        printed="what was printed",
    )),
    Table("acceptances", "Findings that somebody accepted.", ("record",), _texts(
        record="id", rule="rule", about="what the finding is about", why="why", until="last day", who="who",
    )),
    Table("old_rows", "Rows of spreadsheets from before the book: stated, and in no balance.", ("record",), (
        *_texts(
            record="id", date="day", client="client", site="site", file="file", sheet="sheet",
            fields="all that the row says, as JSON",
        ),
        *_wholes(row="row of the sheet, from 1"),
        *_amounts(used="used", recovered="recovered"),
    )),
    Table("registers", "The entries of the registers as they stand.", ("register", "name"), _texts(
        register="which register", name="name", same_as="the entry it is the same as, ''", fields="its fields, as JSON",
    )),
)  # fmt: skip
"""The tables that need no figures."""

TABLES: Final = (*FIGURES, *PAPERS)

WORDS: Final = Table("words", "What people typed, for searching; searched by `find`, accents ignored.", ("n",), (
    Column("n", "number of the row", "whole"),
    Column("seq", "place of the record in the book", "whole"),
    *_texts(
        record="id of the record in which it was typed", run="id of the run that it concerns, ''",
        line="line of the run, '' for all of it", what="kind of record, or of line",
        name="what the record is of, where that is no run: a register entry, a ticket", text="what was typed",
    ),
))  # fmt: skip

HELP: Final = Table("help", "These descriptions.", ("in_table", "column"), _texts(
    in_table="table", column="column, '' for the table itself", about="what it holds",
))  # fmt: skip

MADE_FROM: Final = Table("made_from", "What the tables were made from.", ("what",), (
    *_texts(
        what="'figures' or 'words'", root="root of the book then; for words, the id of the last record",
        program="version of the program and of the tables",
    ),
    Column("size", "records in the book then", "whole"),
))  # fmt: skip

INDEXED: Final = (
    ("runs", "run"), ("runs", "date"), ("stops", "stop"), ("stops", "run"), ("stops", "client"), ("stops", "date"),
    ("handovers", "place"), ("pieces", "stop"), ("changes", "run"),
)  # fmt: skip
"""Columns by which rows are looked for most."""


def descriptions() -> list[tuple[str, str, str]]:
    """(table, column or '', what it holds) for every table and column."""
    return [
        (table.name, name, about)
        for table in (*TABLES, WORDS, MADE_FROM, HELP)
        for name, about in (("", table.about), *((column.name, column.about) for column in table.columns))
    ]
