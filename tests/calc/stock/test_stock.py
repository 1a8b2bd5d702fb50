"""On hand, cover, days ahead, used oil and money."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp.calc import stock
from fluidapp.calc.due.projection import Use
from fluidapp.errors import BadInput, OutOfRange

NAN = math.nan


def test_on_hand_is_what_came_in_less_what_went_out_by_product_and_place():
    got = stock.on_hand(
        ["oil", "oil", "oil", "oil", "grease"],
        ["outside", "stock", "stock", "truck/1", "outside"],
        ["stock", "truck/1", "ex/tank", "ex/tank", "stock"],
        [800.0, 150.0, 40.0, 20.0, 18.0],
        [3.0, 2.0, 0.5, 0.4, NAN],
        ["stock", "truck/1"],
    )
    rows = list(zip(got.product.tolist(), got.place.tolist(), got.litres.tolist(), strict=True))
    assert rows == [("grease", "stock", 18.0), ("oil", "stock", 610.0), ("oil", "truck/1", 130.0)]
    assert got.u.tolist() == pytest.approx([0.0, math.sqrt(9 + 4 + 0.25), math.sqrt(4 + 0.16)])
    assert got.of("oil")[0] == 740.0
    assert got.remarks == ()


def test_more_out_than_in_is_named():
    got = stock.on_hand(["oil"], ["stock"], ["ex/tank"], [20.0], [0.4], ["stock"])
    assert got.litres.tolist() == [-20.0]
    assert "A delivery or a count is missing" in got.remarks[0]


@given(st.lists(st.tuples(st.sampled_from("abc"), st.sampled_from("abc"), st.floats(0, 50)), max_size=20))
def test_moving_between_places_changes_no_total(moves):
    first = [("p", "outside", place, 100.0) for place in "abc"]
    rows = first + [("p", a, b, litres) for a, b, litres in moves]
    got = stock.on_hand(*zip(*rows, strict=True), [0.1] * len(rows), list("abc"))
    assert got.litres.sum() == pytest.approx(300.0)


def test_nothing_recorded_is_nothing_on_hand():
    assert len(stock.on_hand([], [], [], [], [], ["stock"]).litres) == 0


@given(st.floats(0, 5000), st.floats(1, 1000))
def test_containers_hold_what_is_on_hand(litres, size):
    got = stock.packed(litres, size)
    assert got.full * size + got.open_l == pytest.approx(litres, abs=1e-6)
    assert 0 <= got.open_l < size * (1 + 1e-9)


def test_weekly_use_counts_empty_weeks_and_no_week_before_the_records():
    got = stock.weekly_use([99.0, 98.0, 85.0, 20.0], [5.0, 7.0, 8.0, 90.0], 100.0, 79.0)
    assert got == Use(20.0 / 3.0, pytest.approx(np.std([12.0, 0.0, 8.0], ddof=1)), 3, 3.0)
    assert stock.weekly_use([99.0], [5.0], 100.0, 95.0) is None


def test_cover_holds_the_true_day_in_19_of_20_cases():
    """Weeks of gamma use, mean 40 L, own seed: 12 weeks known, then days until 300 L are used up."""
    rng, inside, runs = np.random.default_rng(4), 0, 1500
    for _ in range(runs):
        weeks = rng.gamma(8.0, 5.0, 12)
        found = stock.cover(300.0, 0.0, Use(weeks.mean(), weeks.std(ddof=1), 12, 12.0))
        days = rng.gamma(8.0 / 7.0, 5.0, 400)
        lasts = int(np.argmax(np.cumsum(days) >= 300.0)) + 0.5
        inside += found.low <= lasts <= found.high
    assert 0.93 <= inside / runs <= 0.97


def test_cover_at_its_ends():
    use = Use(55.0, 6.4498, 6, 6.0)
    assert stock.cover(-3.0, 1.0, use) == stock.Cover(0.0, 0.0, 0.0)
    assert stock.cover(100.0, 1.0, Use(0.0, 0.0, 6, 6.0)).days == math.inf
    assert stock.cover(100.0, 1.0, Use(50.0, None, 1, 1.0)) == stock.Cover(14.0, None, None)
    sure, unsure = stock.cover(250.0, 0.0, use), stock.cover(250.0, 30.0, use)
    assert unsure.high - unsure.days > sure.high - sure.days
    with pytest.raises(OutOfRange):
        stock.cover(100.0, -1.0, use)


def test_the_days_ahead_by_hand():
    use = Use(7.0, 0.0, 10, 10.0)
    change = stock.Planned(105.0, 30.0, 0.6, 103.0, 107.0, "engine oil change")
    got = stock.forecast(50.0, 1.0, use, [change], [stock.Planned(110.0, 40.0)], 100.0, 20)
    assert got.litres[[0, 2, 5, 7, 9, 10, 20]].tolist() == pytest.approx([50.0, 48.0, 50 - 5 - 15, 13.0, 11.0, 50.0, 40.0])
    assert got.u[0] == 1.0
    assert got.u[5] == pytest.approx(math.sqrt(1 + 0.5 * 0.36 + 0.25 * 900))
    assert got.crosses is None
    assert got.early is None  # 21.5 L less 1.645 times 13.04 L at the lowest
    assert stock.forecast(48.0, 1.0, use, [change], [stock.Planned(110.0, 40.0)], 100.0, 20).early == 106.0
    assert stock.forecast(30.0, 0.1, use, [change], [], 100.0, 20).crosses == 107.0
    assert stock.forecast(50.0, 0.1, use, [], [], 100.0, 20, limit_l=45.0).crosses == 105.0


def test_scatter_of_the_weeks_widens_the_days_ahead_as_it_does_the_cover():
    use = Use(50.0, 12.0, 9, 9.0)
    got = stock.forecast(200.0, 0.0, use, [], [], 0.0, 28)
    assert got.litres[-1] == 0.0
    assert got.u[-1] == pytest.approx(12.0 * math.sqrt(4 + 16 / 9))


def test_the_used_oil_store_fills_until_it_is_collected():
    drains = [stock.Planned(103.0, 60.0), stock.Planned(106.0, 60.0), stock.Planned(112.0, 120.0)]
    got = stock.used_oil(100.0, 2.0, 230.0, None, drains, [stock.Planned(108.0, 200.0)], 100.0, 20)
    assert got.litres[[2, 3, 6, 8, 12]].tolist() == [100.0, 160.0, 220.0, 20.0, 140.0]
    assert got.crosses is None
    assert stock.used_oil(100.0, 2.0, 215.0, None, drains, [], 100.0, 20).crosses == 106.0
    assert stock.used_oil(100.0, 4.0, 223.0, None, drains[:2], [], 100.0, 20).early == 106.0
    with pytest.raises(OutOfRange):
        stock.used_oil(100.0, 2.0, 0.0, None, [], [], 100.0)


def test_next_months_cost_by_hand():
    use = Use(14.0, 3.5, 16, 16.0)
    changes = [stock.Planned(105.0, 30.0, 1.5), stock.Planned(140.0, 99.0, 9.0)]
    got = stock.period_cost(use, changes, 3.0, "EUR", 100.0, 128.0)
    assert got.value == pytest.approx(3.0 * (14 * 4 + 30))
    assert got.u == pytest.approx(3.0 * math.sqrt(3.5**2 * (4 + 1) + 1.5**2))
    both = stock.total_cost([got, got, stock.period_cost(None, changes, 2.0, "USD", 100.0, 128.0)])
    assert [c.currency for c in both] == ["EUR", "USD"]
    assert both[0].value == pytest.approx(2 * got.value)
    assert both[0].u == pytest.approx(math.sqrt(2) * got.u)
    with pytest.raises(BadInput):
        stock.period_cost(use, [], 3.0, "EUR", 5.0, 5.0)


def test_hand_overs_without_a_paper_are_counted():
    got = stock.handed_over(
        [10, 40, 45, 50, 70], [200.0, 250.0, 50.0, 100.0, 9.0], [2.0, 3.0, 0.0, NAN, 1.0], [True, True, True, False, True], 30, 60
    )
    assert got == stock.HandedOver(400.0, 3.0, 3, 1)
