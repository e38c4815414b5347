"""The recovery ratio against a threshold: met, not met, or cannot tell.

No public rule sets one (regulation notes, section 11).
"""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from compliance.rules.rule import (
    NOTHING,
    CannotTell,
    Citation,
    DoesNotApply,
    Fault,
    Outcome,
    Params,
    Rule,
    Silent,
    Words,
)
from compliance.rules.say import ratio
from compliance.rules.scene import Limit, Scene
from compliance.rules.subjects import Run
from compliance.water.ratio import NoRatio, Ratio, judge
from compliance.water.volume import CONTEXT

LIMIT: Final = "recovery ratio"


def recovery_below_threshold(scene: Scene, run: Run, params: Params) -> Outcome:
    """recovery-1."""
    limit = scene.limit(LIMIT, run.day)
    if isinstance(limit, str):
        return Silent(limit)
    if not run.at_work:
        return DoesNotApply("no work was done")
    threshold = CONTEXT.divide(limit.value, Decimal(100))
    judged = [("run", run.facts.ratio), *_loads_over_runs(run)]
    cannot = []
    for what, found in judged:
        verdict = judge(found, threshold)
        if verdict == "not met":
            assert isinstance(found, Ratio)
            return Fault(f"recovery ratio of the {what}: {ratio(found)}", str(limit), basis=limit.basis)
        if verdict == "met":
            return NOTHING
        cannot.append(found)
    return _why(run, cannot[0], limit)


def _loads_over_runs(run: Run) -> list[tuple[str, Ratio | NoRatio]]:
    """The loads that end in this run and hold other runs' water too: where the run has no ratio they may have one."""
    here = {stop.ref for stop in run.stops}
    return [
        (f"load {load.name}", load.ratio)
        for load in run.loads
        if load.closed is not None and load.closed.record == run.view.record and not here.issuperset(load.stops)
    ]


def _why(run: Run, found: Ratio | NoRatio, limit: Limit) -> Outcome:
    if isinstance(found, Ratio):
        return CannotTell(f"{ratio(found)} against {limit}")
    if any(not stop.facts.planned for stop in run.worked) or any(handover.led_away for handover in run.handovers):
        return DoesNotApply(f"no ratio: {found.why}")
    return CannotTell(f"no ratio: {found.why}")


RULES: Final = (
    Rule(
        id="recovery-1",
        slug="recovery-below-threshold",
        title=Words("Recovery below the threshold", "Recuperación por debajo del límite"),
        severity="not met",
        basis="house policy",
        citations=(
            Citation("the limit on file, whose source it names"),
            Citation("met, not met and cannot tell as in JCGM 106", "from memory"),
        ),
        scope="run",
        judge=recovery_below_threshold,
        looks_for="A recovery ratio that lies below the limit 'recovery ratio' in force that day with the whole of its "
        "interval. A local permit's limit goes before a house policy. While the interval spans the limit, or a figure "
        "has no ±, the answer is 'cannot tell'; where no limit is on file, the rule is silent and says so.",
        why="No public rule sets a percentage: a threshold is somebody's own, and that somebody wants to know.",
        next_step="look at what is not explained on the run, at its rain and its readings; a thin film on a large "
        "area alone can make a ratio low",
        example='name = "recovery ratio"\nvalue = "96 %"\nwhose = "house policy"',
    ),
)
