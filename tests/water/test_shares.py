"""Dividing and mixing in whole hundredths: exact sums, nobody below zero, close to the exact rationals."""

from __future__ import annotations

import math
import random
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compliance.water.shares import Draw, Mix, divide

WEIGHTS = st.lists(st.one_of(st.integers(0, 10**6), st.fractions(0, 1000)), min_size=1, max_size=12)

WITHIN_ONE_FILL = Fraction(2)
"""Hundredths: the bound of the design for a tank filled once and drawn dry."""
OVER_LONG_HISTORIES = Fraction(2)
"""Hundredths. Measured: 1.64 over the 200 histories of 60 nights below, 1.83 over 2,000 such histories, 1.76 over
30 histories of 1,000 nights; it does not grow with length, since each draw takes its part of an old distance too.
"""


# --- dividing --------------------------------------------------------------------------------------------


@settings(max_examples=200, deadline=None)
@given(st.integers(-(10**7), 10**9), WEIGHTS)
def test_a_division_is_exact_in_sum_and_within_a_hundredth_in_each_share(
    total: int, weights: list[Fraction | int]
) -> None:
    """Largest remainder: the sum is the total, each share one of the two integers around the exact one."""
    shares = divide(total, weights)
    assert sum(shares) == total
    whole = sum(weights)
    for share, weight in zip(shares, weights, strict=True):
        fair = Fraction(total) * weight / whole if whole else Fraction(total, len(weights))
        assert abs(share - fair) < 1


def test_ties_go_to_the_earlier_stop() -> None:
    """Three equal stops and a hundred hundredths."""
    assert divide(100, [1, 1, 1]) == [34, 33, 33]
    assert divide(2, [5, 5, 5, 5]) == [1, 1, 0, 0]


def test_weights_that_are_all_zero_divide_equally() -> None:
    """No basis is a basis: equally, which is the last one in the list of bases."""
    assert divide(101, [0, 0]) == [51, 50]
    assert divide(0, [0, 0]) == [0, 0]


def test_a_hand_worked_division() -> None:
    """412.50 gal over 120, 310 and 95 min: 94.2857, 243.5714, 74.6428; the two left go to .6428... and .5714..."""
    assert divide(41250, [120, 310, 95]) == [9429, 24357, 7464]


def test_a_division_that_makes_no_sense_is_an_error_of_the_program() -> None:
    """Nobody to divide among, or a negative weight."""
    assert divide(0, []) == []
    with pytest.raises(ValueError, match="nobody"):
        divide(1, [])
    with pytest.raises(ValueError, match="negative"):
        divide(1, [1, -1])


# --- mixing ----------------------------------------------------------------------------------------------


def filled(amounts: list[int]) -> Mix:
    mix = Mix()
    for i, amount in enumerate(amounts):
        mix = mix.add(f"stop {i}", amount)
    return mix


def test_an_even_draw_takes_each_owners_share() -> None:
    """A tank of 300 and 100, of which 200 go: 150 and 50."""
    draw = filled([30000, 10000]).draw(20000)
    assert draw.parts == (("stop 0", 15000), ("stop 1", 5000))
    assert draw.mix.contents == (("stop 0", 15000), ("stop 1", 5000))
    assert draw.mix.amount == 20000 and draw.overdrawn == 0


def test_a_draw_that_cannot_be_even_makes_up_for_the_last_one() -> None:
    """Single hundredths from three equal owners come in turn, the earlier first."""
    mix = filled([5, 5, 5])
    order = []
    while mix.amount:
        mix, parts, _ = mix.draw(1)
        order += [owner for owner, _ in parts]
    assert order == ["stop 0", "stop 1", "stop 2"] * 5


def test_an_owner_who_is_ahead_keeps_others_waiting_but_gives_nothing_back() -> None:
    """Targets 2.7, 27, 2.7, 2.7, 35.1, 1.8 after four owners were rounded up: one hundredth, for the largest gap."""
    mix = Mix(tuple("abcdef"), (3, 30, 3, 3, 39, 2), (3, 26, 3, 3, 34, 2))
    assert mix.draw(1).parts == (("e", 1),)
    assert mix.draw(2).parts == (("b", 1), ("e", 1))


def test_several_owners_wait_when_several_are_ahead() -> None:
    """The same tank twice over: two hundredths, and four owners whose share of them is a whole one or more."""
    mix = Mix(tuple("abcdefghijkl"), (3, 30, 3, 3, 39, 2) * 2, (3, 26, 3, 3, 34, 2) * 2)
    assert mix.draw(2).parts == (("e", 1), ("k", 1))
    assert mix.draw(3).parts == (("b", 1), ("e", 1), ("k", 1))


@given(st.lists(st.integers(1, 50000), min_size=1, max_size=12), st.integers(0, 10**6))
def test_the_first_draw_is_a_division_by_largest_remainder(amounts: list[int], asked: int) -> None:
    """Nobody is ahead or behind yet, so that both ways of sharing are one."""
    asked = min(asked, sum(amounts))
    given_now = dict(filled(amounts).draw(asked).parts)
    assert [given_now.get(f"stop {i}", 0) for i in range(len(amounts))] == divide(asked, amounts)


def test_when_two_owners_must_wait_equally_the_earlier_is_served() -> None:
    """Ties by owner order hold on the way down too."""
    mix = Mix(tuple("abcdef"), (3, 30, 3, 3, 30, 2), (3, 26, 3, 3, 26, 2))
    parts = dict(mix.draw(1).parts)
    assert parts == {"b": 1}


def test_drawing_more_than_there_is_gives_what_there_is_and_names_the_rest() -> None:
    """The rest belongs to nobody; an empty tank gives nothing at all."""
    mix, parts, overdrawn = filled([700, 300]).draw(1500)
    assert parts == (("stop 0", 700), ("stop 1", 300)) and overdrawn == 500
    assert mix.amount == 0 and mix.contents == ()
    assert mix.draw(5) == Draw(mix, (), 5)
    assert Mix().draw(5) == Draw(Mix(), (), 5)
    assert Mix().draw(0) == Draw(Mix(), (), 0)


def test_an_owner_whose_water_is_gone_leaves_the_tank_and_may_come_back_last() -> None:
    """Owner order is the order of the water that is there."""
    mix = filled([700, 300]).draw(1000).mix.add("stop 1", 50).add("stop 0", 20).add("stop 1", 5)
    assert mix.contents == (("stop 1", 55), ("stop 0", 20))
    assert mix.owners == ("stop 1", "stop 0")


def test_adding_nothing_changes_nothing() -> None:
    """A stop that captured zero does not start the running totals afresh."""
    mix = filled([7, 3]).draw(1).mix
    assert mix.add("stop 2", 0) is mix


def test_negative_amounts_are_an_error_of_the_program() -> None:
    """Water has a direction, and each has its own word."""
    with pytest.raises(ValueError, match="drawn, not added"):
        Mix().add("stop 1", -1)
    with pytest.raises(ValueError, match="added, not drawn"):
        Mix().draw(-1)


AMOUNTS = st.one_of(st.integers(0, 40), st.integers(0, 60000))


@settings(max_examples=200, deadline=None)
@given(st.lists(st.one_of(st.tuples(st.sampled_from("abcdef"), AMOUNTS), AMOUNTS), max_size=40))
def test_every_hundredth_that_went_in_came_out_or_is_still_there(
    steps: list[tuple[str, int] | int],
) -> None:
    """Per owner: additions = draws + contents, exactly, whatever the order; and nobody is ever below zero."""
    mix = Mix()
    put: dict[str, int] = {}
    got: dict[str, int] = {}
    for step in steps:
        if isinstance(step, tuple):
            owner, amount = step
            mix = mix.add(owner, amount)
            put[owner] = put.get(owner, 0) + amount
        else:
            before = mix.amount
            mix, parts, overdrawn = mix.draw(step)
            assert sum(amount for _, amount in parts) + overdrawn == step
            assert overdrawn == max(0, step - before)
            assert all(amount > 0 for _, amount in parts)
            for owner, amount in parts:
                got[owner] = got.get(owner, 0) + amount
        contents = dict(mix.contents)
        assert all(amount > 0 for amount in contents.values())
        assert mix.amount == sum(contents.values())
        for owner, amount in put.items():
            assert amount == got.get(owner, 0) + contents.get(owner, 0)


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.one_of(st.integers(1, 9), st.integers(1, 50000)), min_size=1, max_size=12),
    st.randoms(use_true_random=False),
)
def test_from_one_fill_drawn_dry_each_owner_stays_within_two_hundredths(
    amounts: list[int], dice: random.Random
) -> None:
    """After every draw, each owner's running total lies within 0.02 of its exact rational share."""
    assert distance_in_one_fill(amounts, dice) <= WITHIN_ONE_FILL


def test_four_hundred_tanks_drawn_dry_stay_within_two_hundredths() -> None:
    """Seeded, of 2 to 12 stops, in draws from one hundredth to half the tank."""
    worst = Fraction(0)
    for seed in range(400):
        dice = random.Random(seed)
        amounts = [dice.choice((dice.randint(1, 9), dice.randint(1, 50000))) for _ in range(dice.randint(2, 12))]
        worst = max(worst, distance_in_one_fill(amounts, dice))
    assert Fraction(1, 2) < worst <= WITHIN_ONE_FILL


def distance_in_one_fill(amounts: list[int], dice: random.Random) -> Fraction:
    """The largest |given so far - exact share| in hundredths while a tank is drawn dry."""
    mix = filled(amounts)
    whole, gone = sum(amounts), 0
    given = [0] * len(amounts)
    worst = Fraction(0)
    for _ in range(40):
        taken = min(mix.amount, dice.choice((1, 2, dice.randint(0, 40), dice.randint(0, whole // 2 + 1))))
        mix, parts, _ = mix.draw(taken)
        gone += taken
        for owner, amount in parts:
            given[int(owner.removeprefix("stop "))] += amount
        worst = max(worst, *(abs(g - Fraction(gone * a, whole)) for g, a in zip(given, amounts, strict=True)))
    final = mix.draw(mix.amount)
    assert final.mix.amount == 0 and not final.mix.contents
    return worst


FINE = 10**40
"""Exact mixing is followed in units of 10**-40 hundredths: fractions would reach hundreds of digits."""


def distance_over_long_histories(histories: int = 200, nights: int = 60) -> tuple[Fraction, int]:
    """(largest distance of any owner's contents or running total from exact rational mixing, in hundredths;
    number of additions and draws).

    A night adds the water of one to eight stops and draws one to three times; the tank is seldom emptied. Owners
    are the stops of this night, and of the two before, which may come back.
    """
    worst, steps = 0, 0
    for seed in range(histories):
        dice = random.Random(1000 + seed)
        mix = Mix()
        put: dict[str, int] = {}
        out: dict[str, int] = {}
        exact: dict[str, int] = {}
        for night in range(nights):
            for stop in range(dice.randint(1, 8)):
                owner = f"night {night - dice.choice((0, 0, 0, 1, 2))} stop {stop}"
                amount = dice.choice((dice.randint(1, 9), dice.randint(100, 40000)))
                mix = mix.add(owner, amount)
                put[owner] = put.get(owner, 0) + amount
                exact[owner] = exact.get(owner, 0) + amount * FINE
                steps += 1
            for _ in range(dice.randint(1, 3)):
                held = mix.amount
                asked = held if dice.random() < 0.05 else dice.randint(0, held * 4 // 5)
                mix, parts, _ = mix.draw(asked)
                steps += 1
                for owner, amount in parts:
                    out[owner] = out.get(owner, 0) + amount
                kept = {owner: there * (held - asked) // (held or 1) for owner, there in exact.items()}
                exact = {owner: there for owner, there in kept.items() if there}
                contents = dict(mix.contents)
                for owner in exact.keys() | contents.keys():
                    worst = max(worst, abs(contents.get(owner, 0) * FINE - exact.get(owner, 0)))
        for owner, amount in put.items():
            worst = max(worst, abs(out.get(owner, 0) * FINE - (amount * FINE - exact.get(owner, 0))))
    return Fraction(worst, FINE), steps


def test_long_histories_stay_close_to_the_exact_rationals() -> None:
    """200 histories of 60 nights; run this file as a script to print the distance measured."""
    worst, steps = distance_over_long_histories()
    assert steps > 50000
    assert Fraction(1, 2) < worst <= OVER_LONG_HISTORIES


# --- published mixing problems ---------------------------------------------------------------------------


def test_salt_in_a_mixed_tank_follows_the_published_solution() -> None:
    """check-values 11: 100 gal, 20 g, in 3 gpm at 12 g/gal and 2 gpm at 7, out 5; S = 1000 - 980 exp(-t / 20).

    Salt is the water of three owners weighted by its strength; the flow is taken in steps of 0.6 s.
    """
    unit = 10**4
    mix = Mix().add("start", 100 * unit)
    strength = {"start": 0.2, "strong": 12.0, "weak": 7.0}
    steps_per_minute = 100
    at = {10: 405.59995, 20: 639.47815, 60: 951.20867}
    for step in range(1, 60 * steps_per_minute + 1):
        mix = mix.draw(5 * unit // steps_per_minute).mix
        mix = mix.add("strong", 3 * unit // steps_per_minute).add("weak", 2 * unit // steps_per_minute)
        minutes, odd = divmod(step, steps_per_minute)
        if not odd and minutes in at:
            salt = sum(strength[owner] * amount / unit for owner, amount in mix.contents)
            assert salt == pytest.approx(at[minutes], rel=1e-3)


def test_a_tank_flushed_for_one_residence_time_keeps_one_part_in_e() -> None:
    """check-values 11: 20 kg, tau 40 min, after 40 min 20 / e = 7.357589 kg."""
    mix = Mix().add("first", 20 * 10**6)
    for _ in range(2000):
        mix = mix.draw(10**4).mix.add("fresh", 10**4)
    assert dict(mix.contents)["first"] / 10**6 == pytest.approx(20 / math.e, rel=1e-3)


def test_a_tank_that_grows_while_it_is_drawn_follows_the_computed_solution() -> None:
    """check-values 11: 100 gal with 50 lb, in 5 gal/min at 2 lb/gal, out 4: after 25 min 188.56 lb in 125 gal.

    By hand: y = 2 V - 150 (100 / V)^4 with V = 125: 250 - 150 × 0.4096 = 188.56. Taken in steps of 0.6 s.
    """
    unit = 10**4
    mix = Mix().add("start", 100 * unit)
    for _ in range(25 * 100):
        mix = mix.draw(4 * unit // 100).mix.add("strong", 5 * unit // 100)
    pounds = sum({"start": 0.5, "strong": 2.0}[owner] * amount / unit for owner, amount in mix.contents)
    assert mix.amount == 125 * unit
    assert pounds == pytest.approx(188.56, rel=1e-3)


def test_water_moved_on_to_a_second_tank_follows_the_computed_solution() -> None:
    """check-values 11: two full tanks in series after one residence time: 632.12056 and 264.24112 parts of 1,000.

    By hand: 1 - 1 / e, and 1 - 2 / e. The page that the problem stands on misprints both. Whoever's water leaves the
    first tank is whose water comes into the second.
    """
    unit, steps = 10**7, 2000
    first, second = Mix().add("before", unit), Mix().add("before", unit)
    for _ in range(steps):
        moved = first.draw(unit // steps)
        first = moved.mix.add("new", unit // steps)
        second = second.draw(unit // steps).mix
        for owner, amount in moved.parts:
            second = second.add(owner, amount)
    assert dict(first.contents)["new"] * 1000 / unit == pytest.approx(632.12056, rel=2e-3)
    assert dict(second.contents)["new"] * 1000 / unit == pytest.approx(264.24112, rel=2e-3)
    assert first.amount == second.amount == unit


if __name__ == "__main__":
    worst_distance, number_of_steps = distance_over_long_histories()
    print(
        f"200 histories of 60 nights, {number_of_steps:,} additions and draws: "
        f"at most {float(worst_distance) / 100:.4f} of the unit from exact mixing"
    )
