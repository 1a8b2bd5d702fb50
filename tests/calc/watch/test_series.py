"""Which readings count: working over machine hours and across starts, parked only while the machine stands."""

from fluidapp.calc.watch import Move, Point, Poured, parked, working


def at(clock: float, machine: float | None = 100.0, volume: float = 50.0, rods: tuple = ()) -> Point:
    return Point(clock, machine, volume, 0.5, rods)


def test_a_working_watch_counts_machine_hours_and_goes_on_across_starts() -> None:
    found = working([at(0, 100.0), at(24, 108.0), at(48, None), at(72, 120.0)], [Move(30.0, 5.0)])
    assert found.hours == (100.0, 108.0, 120.0)
    assert found.ended == ""
    assert [p.clock_h for p in found.left_out] == [48]
    assert found.poured == (Poured(2, 5.0),)


def test_an_engine_start_ends_a_parked_watch() -> None:
    found = parked([at(0), at(10), at(20, 100.4), at(30, 100.4)])
    assert (found.hours, found.ended) == ((0, 10), "engine started")
    assert [p.clock_h for p in found.left_out] == [20, 30]


def test_a_top_up_ends_a_parked_watch() -> None:
    found = parked([at(0), at(10), at(20)], [Move(15.0, 2.0)])
    assert (found.hours, found.ended) == ((0, 10), "top-up or drain")
    assert found.poured == ()


def test_a_top_up_before_the_first_reading_does_not() -> None:
    assert parked([at(5), at(10)], [Move(4.0, 2.0)]).ended == ""


def test_a_moved_cylinder_ends_a_parked_watch() -> None:
    found = parked([at(0), at(10), at(20, rods=(("boom", 300.0),))])
    assert (found.hours, found.ended) == ((0, 10), "cylinder moved")


def test_a_pour_between_two_readings_of_one_machine_hour_is_in_the_second() -> None:
    found = working([at(0, 100.0), at(48, 120.0), at(49, 120.0)], [Move(48.5, 5.0)])
    assert found.poured == (Poured(2, 5.0),)


def test_pours_outside_the_readings_do_not_count() -> None:
    assert working([at(5, 100.0), at(48, 120.0)], [Move(2.0, 5.0), Move(50.0, 5.0)]).poured == ()
