"""From readings to where every gallon went, each figure with its ± and its way. Pure.

Read in this order. What a figure is: `volume` (an amount, how well it is known, and why it is not), `shown` (the same
as a reader sees it), `shares` (whole hundredths to owners), `ratio` (captured to applied), `compare` (whether two
figures of one thing agree), `film` (what may stay on a surface). From one reading to a volume: `tanks` (a level),
`meters` (registers, time, counts, weight), `methods` (whatever stands in a payload, through the registers).

The calculator, in the order in which `fold` goes: `fleets` (the runs that are worked out together), `named` (the tanks
and meters in their lines), `timeline` and `lines` (lines become events on tanks), `intervals` (what each tank took
between two looks), `sites`, `supply` and `use` (what was used), `division` (whose part of an interval is how much; by
which `weights`, as in `use`), `mixing` (whose water left at each draw), `levels` (what stood in a tank at both ends of
a run), `rig` (all of it for one timeline).

What is told of it: `results` (the types), `stopfacts`, `loadfacts`, `runfacts`, `jobs`. Beside it: `versions` (a figure
as it was), `oldrows` (the spreadsheets from before the book, which are stated and never worked out).
"""
