"""What keeps the documents true: pages made from the code, console blocks that run, coverage by room, pictures.

`generated` the list of all that is made, written or checked; a module a page: `fieldpage`, `rulepage`, `commandpage`,
`errorpage`, `cautionpage`, `tablepage`, `schemas`, `outside` (checks from outside the project); `markdown` tables;
`console` the console blocks of a document; `rooms` branch coverage by room; `pictures` the proof page and the water
balance, of `samples` in memory; `cardpicture` a card filled in by hand; `bench` how fast it is, with `growth` by size
of book and `inquirybench` how long an answer takes; `here` the folder that all of them work on.

No other room imports this one. It needs a checkout: docs/ and tests/ are not in the wheel.
"""
