"""The command `washwater`: thin click commands over the other rooms.

What they stand on: `main` the group and what becomes of errors; `usage` what is said of a command line that cannot be
read; `shell` the book, the clock and the language of one call; `nearby` only as much of a book as a call needs;
`writing` one entry into it; `issuing` the open book from which pages go out; `show` how listings are printed, `figures`
one figure in a line, `wrapping` a text on a terminal, `progress` how far a long work is; `completing` what TAB offers,
`tabbing` how a shell asks.

Then one module a topic: `starting` (init, demo; `beginning` asks, `demonstration` makes it), `nights` (log; `terminal`
asks a question), `drafting` (drafts), `carding` (card, template; `keyed` brings cards in), `changing` (correct, cancel,
join, order), `morning` (complete), `bulk` (ticket, attach), `registering` (add, edit, same-as, registers), `importing`
(import), `looking` (list, find, balance, query; a balance in lines for people is `balances`, as data `balance_data`),
`showing` (show), `judging` (check, rules, explain, accept), `paging` (proof, client, pages), `closing` (month),
`inquiring` (inquiry: `asked` is what its parts share, `searching`, `inquired`, `lettering`, `packing` with `packed` the
parts), `keeping` (verify, backup, restore), `exporting` (export). A command's module is imported when that command is
called, and heavy libraries inside it.
"""
