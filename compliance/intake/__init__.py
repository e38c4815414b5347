"""Every door in, with one validator behind all of them.

Read in this order: `checked` (what a door gets back: a payload, or every problem at once), `text` and `moments`
(plain text, dates and times), `values` (one field of the table, of any type), `frame` (what every entry may carry
besides its fields), `spots` (where an amendment lands), `run`, `registers`, `amend`, `papers`, `joining` and
`inquiries` (the kinds of record, each built from those), `validate` (all of them by name), `entries` (what was checked
becomes an entry), `fromfile` (TOML, JSON and standard input), `handin` (one append, acknowledged after).

What `washwater log` asks, without a terminal: `questions` (a draft in, the next question out), `night` (the order)
with `night_lines` (of each line) and `night_found` (of the whole night), `asking` and `measuring` (the kinds of
question), `question` (one of them), `wording` (both languages), `last` and `compare` (what is shown
once a figure is in).

The paper card: `card_lines` (what it asks), `serial` (what it is known by), `keying` (the workbook, read back),
`keyed_night` (what its ticks mean) and `rekeyed` (a card that the book has already).

In the morning: `morning` (what is still needed, and what an answer makes), `awaited` (which handovers a ticket
may come for), `ticketfile`, `ticket_amounts`, `ticket_pools` and `ticketlist` (tickets in bulk: read, held against our
own volume, settled by amounts, matched), `photos` (copies that may be shown, and the run that each photo is of).

`samples` is the book that `demo` makes, with `clean_month`; `seeded_book` makes one of any size to be measured. Their
nights are by `night_maker` at `sample_places`.

`oldbooks` is a house in the house: the spreadsheets from before the book.

`position` reads coordinates and distances. `cautions` are shown where a danger is entered; `schema` writes the field
table as a JSON Schema; `near` and `limits` help the validator to say what was meant and what cannot be.

Nothing is written until `handin`; silence is never zero; handing in twice changes nothing.
"""
