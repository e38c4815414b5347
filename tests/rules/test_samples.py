"""Every rule has a night that it passes and a night, one fact away, that it does not."""

from __future__ import annotations

import pytest

from compliance.rules.catalogue import ALL
from compliance.rules.rule import Finding, Rule
from compliance.rules.run import Report, check
from tests.rules.samples import HERE, leaves, read, sample_file, scene

every_rule = pytest.mark.parametrize("rule", ALL, ids=lambda rule: rule.id)


def findings(*, rules: tuple[Rule, ...], sample: str, outcome: str) -> tuple[Finding, ...]:
    report = check(scene(read(sample, outcome)), rules=rules)
    assert isinstance(report, Report)
    return report.findings


@every_rule
def test_pass_sample_raises_nothing_at_all(rule: Rule) -> None:
    """A pass sample is a clean night for every rule, not only for its own."""
    assert findings(rules=ALL, sample=rule.id, outcome="pass") == ()


@every_rule
def test_fail_sample_raises_its_rule_and_no_other(rule: Rule) -> None:
    """A fail sample gives one finding, by its own rule, with the row's severity and basis."""
    (found,) = findings(rules=ALL, sample=rule.id, outcome="fail")
    assert (found.rule, found.slug, found.severity, found.scope) == (rule.id, rule.slug, rule.severity, rule.scope)
    assert found.seen and found.compared_with and found.next_step


@every_rule
def test_without_the_rule_its_fail_sample_is_clean(rule: Rule) -> None:
    """Nothing else would notice if the rule were gone."""
    others = tuple(one for one in ALL if one.id != rule.id)
    assert findings(rules=others, sample=rule.id, outcome="fail") == ()


@every_rule
def test_samples_differ_in_one_fact(rule: Rule) -> None:
    """Pass and fail are one leaf apart."""
    passed, failed = (leaves(read(rule.id, outcome)) for outcome in ("pass", "fail"))
    assert len({path for path in {**passed, **failed} if passed.get(path) != failed.get(path)}) == 1


@every_rule
def test_example_stands_in_the_fail_sample(rule: Rule) -> None:
    """What `explain` shows is part of a record that makes the rule speak, line by line and in order."""
    sample = [line.split("#")[0].strip() for line in sample_file(rule.id, "fail").read_text("utf-8").splitlines()]
    at = 0
    shown = [line.split("#")[0].strip() for line in rule.example.splitlines()]
    assert any(shown)
    for line in filter(None, shown):
        assert line in sample[at:], line
        at += sample[at:].index(line) + 1


def test_base_night_is_clean() -> None:
    """What all samples stand on raises nothing."""
    report = check(scene({}))
    assert isinstance(report, Report)
    assert report.findings == () and len(report.counts) == len(ALL)


def test_every_folder_of_samples_belongs_to_a_rule() -> None:
    """A rule that is deleted leaves its samples behind, and this test notices."""
    folders = {one.name for one in HERE.iterdir() if (one / "fail.toml").exists() or (one / "pass.toml").exists()}
    assert folders == {rule.id for rule in ALL}
