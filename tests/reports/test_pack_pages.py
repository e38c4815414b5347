"""What a proof says under a heading goes with one part of an answer pack."""

from __future__ import annotations

from compliance.reports.model import Heading
from compliance.reports.pack_pages import _PATHS
from compliance.reports.pack_parts import PARTS
from compliance.reports.words import Words
from tests.reports.making import Bench, proof
from tests.reports.proofs import ONE_STOP


def test_each_heading_of_a_proof_leads_to_a_part(one_stop: Bench) -> None:
    """Under one that led nowhere, a part that is withheld would go out with the part before it."""
    words = Words("en")
    parted = {words(key) for key in _PATHS}
    over_all = {words("annex.title")}  # nothing stands between it and the next
    found = {one.text for one in proof(one_stop, ONE_STOP).blocks if isinstance(one, Heading)}
    assert found - over_all == parted
    assert set(_PATHS.values()) <= set(PARTS)
