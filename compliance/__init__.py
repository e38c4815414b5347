"""Where every gallon of wash water went, and how that is known.

The rooms, each importing only from those to its left::

    records -> water -> rules -> book -> intake -> reports -> cli

`records`, `water` and `rules` are pure; `book` alone opens SQLite; `cli` is thin. `devtools` keeps the documents true
and is imported by nobody.
"""
