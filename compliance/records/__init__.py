"""What is written down: frozen types, quantities and units, the one field table, upgraders. Pure.

`problem` what is wrong, in three parts; `envelope` the frame around every record; `answer` the four kinds of not
knowing; `quantity` numbers with units as typed; `measure` how a volume was learned; `fields` the field table;
`registers` clients, sites, rigs, places, permissions; `run` a night as it was handed in; `amend` the records that
correct, complete, cancel or accept; `upgrade` readers for older schema versions.
"""
