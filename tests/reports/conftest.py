"""What several page tests share. Nothing is imported before it is asked for, so that other tests start light."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.reports.making import Bench


@pytest.fixture(scope="session")
def september() -> Bench:
    """A book with nine sample jobs."""
    from tests.reports.making import NINE, sample

    return sample(*NINE)


@pytest.fixture(scope="session")
def everything() -> Bench:
    """A book with every sample job there is."""
    from tests.reports.making import all_cases

    return all_cases()


@pytest.fixture(scope="module")
def one_stop() -> Bench:
    """A book with sample case 1 alone."""
    from tests.reports.making import sample

    return sample("case-01-one-stop")
