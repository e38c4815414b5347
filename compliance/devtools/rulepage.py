"""docs/rules.md: every rule in the words in which `washwater explain` tells it."""

from __future__ import annotations

from compliance.devtools.markdown import block, code, table
from compliance.records.sentences import local_permit_governs
from compliance.rules.catalogue import ALL
from compliance.rules.explain import explain

_HEAD = f"""\
# Rules

What `washwater check` asks of the records, in the words of `washwater explain ID`. How severities, precedence and
accepting work stands in [findings.md](findings.md). {local_permit_governs("en")}

"""


def page() -> str:
    """A table of all rules, then each in full."""
    rows = [
        (f"[{code(rule.id)}](#{rule.id})", code(rule.slug), rule.severity, rule.basis, rule.title.en, rule.title.es)
        for rule in ALL
    ]
    columns = ("id", "slug", "severity", "basis", "what it says", "in Spanish")
    told = [f'## <a id="{rule.id}"></a>{rule.id} {rule.slug}\n\n{block(explain(rule), "text")}' for rule in ALL]
    return _HEAD + table(columns, rows) + "\n" + "\n".join(told)
