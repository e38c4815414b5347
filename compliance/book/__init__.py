"""The record book: a folder that is written to and never changed.

```
records.sqlite   the records, append-only; the only file that proves anything
files/           attachments and issued pages, named by their SHA-256, on the disk before the record that names them
drafts/          entries not handed in yet, one JSON file each; no part of the book
query.sqlite     derived tables; may be deleted at any time
```

Read in this order: `canon` (the bytes that are stored and hashed), `tree` (hashes of hashes: what a printed head
proves), `schema` (the SQL and every setting of the database), `incoming` (what may come in), `store` (the book
itself: append and read), `files` and `drafts`, `verify` (what is damaged, how serious, what next, may I go on) with
`own_heads` (what the book has written down about itself), `backup`, `export` with its `dictionary` and the checker
that goes along (`check_export`, a file that is also run alone), `rebuild` (an export back into a book).

What is made from the records and may be deleted: `derived` (the doors), `derived_files` (how these files are opened);
`derived_names`, `derived_index`, `derived_lookup`, `derived_context`, `derived_newest` (one run or one month in a book
of any size); `derived_tables`, `derived_rows`, `derived_changed`, `derived_making` (the query tables); `derived_words`
and `derived_finding` (the search). `near` finds the records around a few nights, for a question from outside.

What the book promises: a record that was acknowledged survives a crash and a loss of power, on a disk that keeps
its own promises about syncing. What it shows: a change to anything stored, against a head that was kept elsewhere;
without one, a change that its hashes or its own heads were not made to follow. What it cannot show: that the records
were true when entered, nor, without a kept head, that its last records were not cut off or that the whole book, its
own heads included, was not written anew.
"""
