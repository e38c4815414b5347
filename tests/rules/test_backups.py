"""A book without a second copy is noticed, in its own time."""

from __future__ import annotations

from dataclasses import replace

from compliance.rules.catalogue import named
from compliance.rules.run import check_run
from compliance.rules.scene import Scene
from tests.rules.samples import found, outcome, scene, with_state


def test_a_book_that_was_never_backed_up_counts_from_its_beginning() -> None:
    """Long after it is told; while the book is young it is silent, and says why."""
    never = with_state(scene({}), backups=())
    assert outcome(never, "backup-1") == (
        "found: the book was never backed up, and was begun 262 days ago, on 2026-01-01"
    )
    young = with_state(never, opened="2026-09-13T08:00:00-06:00")
    assert outcome(young, "backup-1") == "silent: no backup yet, and the book is young"
    assert outcome(with_state(never, opened="2026-09-12T08:00:00-06:00"), "backup-1").startswith("found")


def test_the_latest_backup_counts() -> None:
    """In whatever order they were made known."""
    made = scene({})
    old = replace(made.state.backups[0], made="2026-03-01T07:00:00-07:00")
    assert outcome(with_state(made, backups=(*made.state.backups, old)), "backup-1") == "silent"
    assert outcome(with_state(made, backups=(old,)), "backup-1") == (
        "found: the last backup was made 203 days ago, on 2026-03-01"
    )


def test_the_house_may_set_its_own_limit() -> None:
    """In days or weeks, looser or tighter; it stands beside what was seen."""
    fail = {"backups": [{"made": "2026-09-10T07:00-06:00"}]}
    loose = {"limit": [{"name": "days since backup", "value": "14", "whose": "house policy"}]}
    assert outcome(scene(fail, loose), "backup-1") == "silent"
    tight = {"limit": [{"name": "days since backup", "value": "1 days", "whose": "house policy", "source": "office"}]}
    (one,) = found(scene({}, tight), "backup-1")
    assert one.compared_with == "a backup at most 1 days old: 1 days, house policy, office"
    (none,) = found(scene(fail), "backup-1")
    assert none.compared_with == "a backup at most 7 days old: no limit on file; common practice, no source"


def test_one_run_is_not_asked_about_the_book() -> None:
    """Only the whole book is: an entry that a run names has no backup of its own."""
    made: Scene = scene({"backups": []})
    rule = named("backup-1")
    assert rule is not None
    report = check_run(made, made.state.runs[0].ref, rules=(rule,))
    assert not hasattr(report, "what") and report.findings == ()  # type: ignore[union-attr]
