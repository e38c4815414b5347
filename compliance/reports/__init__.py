"""Pages: what each says as plain data (`model`, kept as `page_json`), and how it is printed. Builders are pure.

Builders: `proof` with `annex`, `checking`, `changes`, `awaited`, `ownfiles`, `watertable` and `waterway`; `month` with
`month_charts`, `usual` and what `client` shares with it (`summary`, `totals`). What they draw on: `words` (one
catalogue a language), `refs` (from a line to its fields), `parts` (the ends of a job's water), `span` (the runs of
some days), `numbers`, `values`, `timeline`, `seen` (what a rule saw, in the page's language).

The crew's card: `card_blank` (what it says), `card_front` and `card_back` in the words of `card_words` and with the
`card_pen`, `card` (the sheets); the workbook into which it is keyed: `card_workbook` with `card_help`.

What was issued: `issue` (numbers, versions, closed months), `imprint` (what stands around a page), `figures` (what a
page prints that could change), `touched` (which pages a late record touches, and what the next summary restates),
`revised` (what a page says of the one it replaces), `printed` (the record code read back off a page).

Answers to inquiries: `inquiry_place` (how near), `inquiry_time` (when), `inquiry_found` (the types), `inquiry_search`
(what the records say, rig by rig), `inquiry_letter`; the pack: `pack_parts` (what it is made from), `pack_pages` with
`pack_night` and `pack_papers`, `pack_withheld` (what stays out), `pack_index`, `pack_files`.

Printing: `pdf`, `html`, `workbook` with `sheets` and `workbook_charts`; `charts`, `hours`, `picture`, `grid`,
`flow`, `fonts`, `text`.
`sidebyside`: two hand-ins of one night, field by field.
"""
