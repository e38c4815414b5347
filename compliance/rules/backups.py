"""That a second copy of the book exists, and is not old."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Final

from compliance.records.quantity import convert
from compliance.rules.rule import (
    NO_SOURCE,
    DoesNotApply,
    Fault,
    Outcome,
    Parameter,
    Params,
    Rule,
    Silent,
    Words,
)
from compliance.rules.say import plain
from compliance.rules.scene import Limit, Scene
from compliance.rules.subjects import Entry, days_between

LIMIT: Final = "days since backup"
"""The name of a house's own limit on the register 'limit'."""


def backup_too_old(scene: Scene, entry: Entry, params: Params) -> Outcome:
    """backup-1."""
    if entry.what != "business":
        return DoesNotApply("it is about the book as a whole")
    limit = scene.limit(LIMIT, scene.today.isoformat())
    most = convert(limit.value, limit.unit, "days") if isinstance(limit, Limit) else params["days"]
    source = str(limit) if isinstance(limit, Limit) else f"{limit}; common practice, no source"
    last = max((one.made[:10] for one in scene.state.backups), default=None)
    since = days_between(date.fromisoformat(last or scene.state.opened[:10]), scene.today)
    if since <= most:
        return Silent("" if last else "no backup yet, and the book is young")
    if last is None:
        seen = f"the book was never backed up, and was begun {since} days ago, on {scene.state.opened[:10]}"
    else:
        seen = f"the last backup was made {since} days ago, on {last}"
    return Fault(seen, f"a backup at most {plain(most)} days old: {source}")


RULES: Final = (
    Rule(
        id="backup-1",
        slug="backup-too-old",
        title=Words("The last backup is old", "La última copia de respaldo es vieja"),
        severity="look at",
        basis="practice",
        citations=(NO_SOURCE,),
        scope="entry",
        judge=backup_too_old,
        looks_for="A book whose last backup, or whose beginning where there is none, is longer ago than the days "
        f"below; a limit {LIMIT!r} on the register goes before them.",
        why="A disk that fails takes all that is not in another place. The next backup costs a minute.",
        next_step="run `washwater backup` into a new folder, and keep it away from this machine",
        parameters=(Parameter("days", Decimal(7), "days", "while no limit is on file", "common practice, no source"),),
        example='made = "2026-09-10T07:00-06:00"    # looked at on 2026-09-20',
    ),
)
