"""The kinds of record and the shape of their payloads.

============ =================================================================================================
kind         payload
============ =================================================================================================
book         business fields; the first record of every book
register     what (a register), name (its key), fields (those that are new or changed), who
same as      what, name, is (the name it is the same as), who
run          fields, lines [{n, line, fields}], typed {path: text as typed}, who; a night as it was handed in
ticket       fields, handovers [{run, line}], who
correct      run, line ('' for a run field), field, value, was, reason, why, who
complete     run, line, field, value, who; or run, after, add {line, fields}, who for a forgotten line
cancel       record, why, who
attach       record, line, name, sha256, size, media, what, who; a photo also has copy {sha256, size}, the picture
             without position and device that goes on pages
accept       rule, about, why, until, who
issue        page, number, about, date, files {media: sha256}, made_from {size, root}, figures, replaces, who
close        month, page (the number of the summary that goes with it), size and root of the book before it, figures
             {load: digest of its division}, who
reopen       month, why, who
old row      fields, typed {field: text as it stood}, method, file, sha256, sheet, row, mapping (SHA-256 of how the file
             was read), who; one row of a spreadsheet from before the book
same outing  first, second, why, who; two hand-ins (records of runs) of one outing
order        tank, runs [record], why, who; in which order runs of several rigs came to a tank that they share
backup       made, head, sha256, files, spoilt; that the book was copied: files is how many went along, spoilt how many
             could not
inquiry      fields, follows (the record of the inquiry that it follows, if there is one), who; or inquiry (the record
             of the one that is changed), fields (what is said now), why, who
inquiry step inquiry, step ('searched', 'sent', 'held', 'closed' or 'opened again'), holds [record], who; searched also
             has size and root of the book, entered (receipt of its last record), asked {what was looked for}, found
             {rig: what these records say} and stops [{run, line, how, in_time}], those near; sent has to, how, files
             [{name, sha256, size}]; held, closed and opened again have why
============ =================================================================================================

In 'correct' and 'complete' run may be a ticket, field may be a path into a list ('drain_list/1/on'), and outing is the
'same outing' record that joined the run whose own field is meant.

A path is 'used', 'used/start', '3/amount' or '3/drain_list/1/on' (line 3, its first drain); in 'register', 'ticket',
'correct' and 'complete' it has no line. A run also has first {path: text}, where a figure was given before a
comparison was shown and is another one now, and follows (a record), where its card was keyed again after that one was
cancelled; register, ticket, correct and complete also have typed where it differs.
A reading of a tank shows a level ('12.5 in', '140 gal', 'empty', 'full'), one of an instrument, or of a name that is
on no register, a bare figure ('1450.5 count').

A record on an unknown kind is kept and ignored: a newer program may have written it.
"""

from __future__ import annotations

from typing import Final

BOOK, REGISTER, SAME_AS, RUN, TICKET = "book", "register", "same as", "run", "ticket"
CORRECT, COMPLETE, CANCEL, ATTACH, ACCEPT, ISSUE = "correct", "complete", "cancel", "attach", "accept", "issue"
OLD_ROW = "old row"
SAME_OUTING, ORDER, BACKUP = "same outing", "order", "backup"
CLOSE, REOPEN = "close", "reopen"
INQUIRY, INQUIRY_STEP = "inquiry", "inquiry step"

KINDS: Final = (
    BOOK, REGISTER, SAME_AS, RUN, TICKET, CORRECT, COMPLETE, CANCEL, ATTACH, ACCEPT, ISSUE, OLD_ROW, SAME_OUTING, ORDER,
    BACKUP, CLOSE, REOPEN, INQUIRY, INQUIRY_STEP,
)  # fmt: skip

KEYED_WRONG, READ_WRONG = "keyed wrong", "read wrong"
REASONS: Final = (KEYED_WRONG, READ_WRONG)
"""Why a correction is made: the paper said otherwise, or the instrument did."""

OLD_METHOD: Final = "stated in an old file, method unknown"
"""How every figure of an old row was come by: nobody knows today what was read, and by whom."""
