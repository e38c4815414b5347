"""What is written down: frozen types, quantities and units, the one field table, upgraders. Pure.

`problem` what is wrong, in three parts; `envelope` the frame around every record, `kinds` what records there are;
`answer` the four kinds of not knowing; `quantity` numbers with units as typed; `measure` how a volume was learned;
`fields` the field table; `names` names as they are looked up; `views` what a reader of the records sees, `registers`
what is known by name, `state` the fold that makes both, `changes` one correction or completion in it, `outing` two
hand-ins of one outing, `ticketing` what a ticket is for that names no handover, `closing` a month that was closed,
`inquiries` a question from outside and what it keeps on hold; `sentences` what is said in more than one room;
`upgrade` readers for older schema versions; `quick` how all the frozen classes are made.
"""
