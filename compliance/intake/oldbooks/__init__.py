"""The books from before: a contractor's own old spreadsheets, read as they are and never improved.

Read in this order: `table` (a file as plain cells), `limits`, `opening` (what a file is, by its bytes), `archive` and
`workbook` (.xlsx), `delimited` and `texts` (.csv, .tsv); `headings` (the columns and their words), `filemap` (the
mapping, a TOML file that people can edit), `layout` (where things stand on a sheet); `days` and `amounts` (one text,
as a date or a figure), `habits` (what the whole file shows of them), `cells`, `dating`, `totals` and `lines` (a row,
read), `reading` (a sheet), `twice` (what is in the book already), `asked` (the questions that are left, and what to
write), `preview` (all of it), `writing`. `telling` says how far it is.

Three rules: nothing is guessed in silence (a question is asked once for the file, and the mapping answers it); nothing
is worked out as water (an old row is 'stated in an old file, method unknown'); nothing is written before the preview.
"""
