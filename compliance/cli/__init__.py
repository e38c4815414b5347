"""The command `washwater`: thin click commands over the other rooms.

`main` the group and what becomes of errors; `shell` the book, the clock and the language of one call; `show` how
listings are printed. Then one module a topic: `starting` (init, demo), `nights` (log, drafts), `carding` (card,
template; `keyed` brings cards in), `changing` (correct, complete, cancel, attach, ticket), `registering` (add, edit,
same-as, registers), `looking` (list, show, find, balance, query), `judging` (check, rules, explain, accept), `paging`
(proof, month, client), `keeping` (verify, backup, restore). A command's module is imported when that command is
called, and heavy libraries inside it.
"""
