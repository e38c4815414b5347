"""The demo is there whole, or not at all."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.cli import demonstration, issuing
from compliance.intake import samples
from tests.cli.conftest import Desk


@pytest.mark.parametrize("thrown", [KeyboardInterrupt, OSError("the disk is full")])
def test_an_interrupted_demo_leaves_nothing_behind(desk: Desk, monkeypatch: Any, thrown: Any) -> None:
    """Neither the folder nor what was in the making; a folder that was there before stays, and is empty."""
    calls = iter(range(100))
    real = issuing.rendered

    def tired(*args: Any) -> Any:
        if next(calls) == 2:
            raise thrown
        return real(*args)

    to = desk.folder.parent / "demo"
    to.mkdir()
    with monkeypatch.context() as patched:
        patched.setattr(samples, "nights", lambda: iter(list(real_nights())[:12]))
        patched.setattr(issuing, "rendered", tired)
        assert desk("demo", to).code == 2
    assert list(desk.folder.parent.iterdir()) == [to]
    assert list(to.iterdir()) == []


real_nights = samples.nights


def test_a_demo_takes_the_name_of_the_folder_that_was_asked_for(desk: Desk, monkeypatch: Any) -> None:
    """Also of an empty one that is there already; the commands it proposes name it."""
    monkeypatch.setattr(samples, "nights", lambda: iter(list(real_nights())[:12]))
    for name in ("demo", "a/b/demo"):
        to = desk.folder.parent / name
        if name == "demo":
            to.mkdir()
        said = desk("demo", to)
        assert said.code == 0, said.err
        assert {path.name for path in to.iterdir()} == {"book", "pages"}
        assert [path for path in to.parent.iterdir() if path.name.startswith(".")] == []
        *_, last, _ = said.out.splitlines()
        assert last.strip().startswith(f"washwater --book {to / 'book'} verify --page {to / 'pages'}")
    assert demonstration.CLIENT
    assert desk("demo", desk.folder.parent / "demo").code == 2
