"""Suggestions, units, spreadsheets and odd cells of a table that is taken in."""

import io
import zipfile
from dataclasses import replace
from datetime import UTC, datetime, time

import pytest
from openpyxl import Workbook

from fluidapp.errors import BadInput, FileProblem
from fluidapp.model import Machine
from fluidapp.store.grid import MOST_ROWS, read_grid
from fluidapp.store.intake import preview, problems_csv, said_of, store_table, unsaid
from fluidapp.store.safe import quoted, unquoted
from fluidapp.store.wanted import TABLES, Columns, suggested

HEADS = ("Date", "Machine", "Tank", "Litres added", "Remark")


@pytest.fixture
def look(store, make):
    """The preview of a file, its columns suggested, its styles said."""

    def look(data, table="top-ups", name="mine.csv", **more):
        grid = read_grid(name, data.encode() if isinstance(data, str) else data)
        said = replace(suggested(TABLES[table], grid.headings), **{"decimal": "point", "dates": "year first", "at_time": time(12), **more})
        return preview(store, grid, said, now_utc=make.now, place=lambda at: at.replace(tzinfo=UTC), by_name="Ann")

    return look


def book(*rows, heads=HEADS):
    """A spreadsheet as bytes."""
    made = Workbook()
    for row in (heads, *rows):
        made.active.append(row)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("heading", "field", "unit"),
    [
        ("Litres added", "amount", "L"), ("Qty [US gal]", "amount", "US gal"), ("Quantity", "amount", None),
        ("Volume (gal)", "amount", None),
        ("Oil temp °F", "oil_c", "°F"), ("Temperature", "oil_c", None), ("HOURS", "meter_h", "h"), ("Unit no.", "machine", None),
        ("Date / time", "time", None), ("who", "by", None),
    ],
)  # fmt: skip
def test_a_heading_suggests_its_field_and_only_a_unit_that_it_names(heading, field, unit):
    found = suggested(TABLES["top-ups"], ["x", heading])
    assert found.columns == {field: heading}
    assert found.units.get(field) == unit
    assert (found.decimal, found.dates) == (None, None)


def test_headings_that_mean_nothing_are_left_alone():
    assert suggested(TABLES["readings"], ["Colour", "Foo", ""]).columns == {}


def test_what_is_not_said_is_asked_for():
    said = Columns("top-ups", {"time": "Date", "amount": "Qty", "note": "Date"})
    assert unsaid(said) == [
        "the column of: Machine", "the column of: Compartment", "the unit of: Amount", "which field “Date” is: it is taken twice",
        "the decimal mark", "the order of day, month and year",
    ]  # fmt: skip


def test_a_top_up_becomes_a_movement_out_of_stock_and_a_drain_one_into_the_used_oil(store, look, make):
    text = "Date,Machine,Tank,Qty (US gal),Oil\n2026-04-01 06:30,ex-1,tank,5,hyd\n"
    store_table(store, look(text), now_utc=make.now)
    store_table(store, look(text.replace("04-01", "04-02"), "drains"), now_utc=make.now)
    up, down = store.movements()
    assert (up.from_node, up.to_node, up.purpose, up.product) == ("stock", "ex-1/tank", "top-up", "hyd")
    assert (down.from_node, down.to_node, down.purpose) == ("ex-1/tank", "used-oil", "drain")
    assert up.volume_l == pytest.approx(5 * 3.785411784, rel=1e-12)  # 231 cubic inches, by definition
    assert store.entries("ex-1")[0].by_name == "Ann"
    assert store.entries("ex-1")[0].doc.as_read == "5 US gal"


def test_movements_name_their_ways_by_key_label_or_place(store, look, make):
    text = (
        "Date;From;To;Amount;Unit;Purpose;Oil\n"
        "2026-04-01;outside;Stock;200;L;stock;Grease\n2026-04-02;stock;Excavator one / Slewing gearbox;0.5;L;top-up;unknown\n"
        "2026-04-03;ex-1/tank;used oil;1;imp gal;Used oil;\n"
    )
    found = look(text, "movements")
    assert found.problems == []
    store_table(store, found, now_utc=make.now)
    assert [(m.from_node, m.to_node) for m in store.movements()] == [
        ("outside", "stock"), ("stock", "ex-1/slew"), ("ex-1/tank", "used-oil"),
    ]  # fmt: skip
    bad = look(text.replace(";L;", ";gal;").replace("imp gal", "kg").replace("stock;Exc", "stock;Slewing gearbox;Exc"), "movements")
    assert {p.row for p in bad.problems} == {2, 3}
    assert "US gal or imp gal" in bad.problems[0].fix


def test_services_and_shots_come_in(store, look, make):
    store_table(store, look("Date,Machine,Hours,Work done\n2026-04-01,ex-1,100,filter\n", "services"), now_utc=make.now)
    shots = "Date,Machine,Grease point,Nipple,Swing,Pumps,Grease (g),Gun,Purged\n2026-04-02,ex-1,Slewing ring,2,90,12,15,Hand gun A,x\n"
    store_table(store, look(shots, "shots"), now_utc=make.now)
    shot, service = store.entries("ex-1")
    assert (service.doc.task, service.meter_h) == ("filter", 100)
    assert (shot.doc.point, shot.doc.nipple, shot.doc.swing_deg, shot.doc.strokes, shot.doc.mass_g, shot.doc.gun, shot.doc.purge_seen) == (
        "ring", 2, 90, 12, 15, "gun-a", True,
    )  # fmt: skip


def test_the_machine_of_all_rows_can_be_said(store, look):
    found = look("Date,Tank,Litres\n2026-04-01,tank,5\n", fixed={"machine": "ex-1"})
    assert (found.new, found.problems) == (1, [])


def test_a_name_that_two_machines_have_needs_the_key(store, look, make):
    store.put(Machine.model_validate({**make.machine, "key": "ex-2"}), now_utc=make.now)
    (problem,) = look("Date,Machine,Tank,Litres\n2026-04-01,excavator one,tank,5\n").problems
    assert (problem.row, problem.column, problem.value) == (2, "Machine", "excavator one")
    assert "use the key" in problem.fix


def test_a_decimal_comma_that_was_said_makes_one_thousandth_of_1_234(look):
    found = look("Date;Machine;Tank;Litres\n2026-04-01;ex-1;tank;1,234\n", decimal="comma")
    assert found.saves[0].entries[0].doc.volume_l == 1.234


def test_a_file_with_its_own_offset_keeps_it(look):
    found = look("Date,Machine,Tank,Litres\n2026-04-01T06:30+09:00,ex-1,tank,5\n")
    assert found.saves[0].entries[0].at.isoformat() == "2026-04-01T06:30:00+09:00"


def test_a_date_alone_gets_the_hour_that_was_said_or_is_named(look):
    text = "Date,Machine,Tank,Litres\n2026-04-01,ex-1,tank,5\n"
    assert look(text).saves[0].entries[0].at.hour == 12
    assert "no time of day" in look(text, at_time=None).problems[0].fix
    clocked = look("Date,Time of day,Machine,Tank,Litres\n2026-04-01,5:10 pm,ex-1,tank,5\n")
    assert clocked.saves[0].entries[0].at.time() == time(17, 10)


def test_a_spreadsheet_gives_stored_values_and_a_formula_without_one_is_named(store, look, make):
    data = book((datetime(2026, 4, 1, 6, 30), "ex-1", "tank", "=2+3", "=1+1"), (datetime(2026, 4, 2), "ex-1", "tank", 4.5, None))
    found = look(data, name="mine.xlsx")
    assert [(p.row, p.column, p.value) for p in found.problems] == [(2, "Litres added", "=2+3")]
    packed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(packed, "w") as new:
        for name in old.namelist():
            body = old.read(name)
            body = body.replace(b"<f>2+3</f><v />", b"<f>2+3</f><v>7</v>").replace(b"<f>2+3</f><v></v>", b"<f>2+3</f><v>7</v>")
            new.writestr(name, body.replace(b"<f>1+1</f><v />", b"<f>1+1</f><v>2</v>").replace(b"<f>1+1</f><v></v>", b"<f>1+1</f><v>2</v>"))
    found = look(packed.getvalue(), name="mine.xlsx")
    assert found.problems == []
    assert [new.doc.volume_l for new in found.saves[0].entries] == [7, 4.5]  # the stored 7, not the 5 that the formula would give
    assert [new.at.hour for new in found.saves[0].entries] == [6, 0]  # midnight, since the other row has a time
    assert store_table(store, found, now_utc=make.now) == 2


def test_a_spreadsheet_with_numbers_for_dates_and_errors_for_values_is_named(look):
    found = look(book((46113.5, "ex-1", "tank", 5, None), (datetime(2026, 4, 2), "ex-1", "tank", "#DIV/0!", None)), name="mine.xlsx")
    assert [(p.row, p.column) for p in found.problems] == [(2, "Date"), (3, "Litres added")]


def test_another_sheet_can_be_chosen(store):
    made = Workbook()
    made.active.append(["Nothing"])
    made.create_sheet("Oil").append(["Date", "Machine"])
    out = io.BytesIO()
    made.save(out)
    first, second = read_grid("a.xlsx", out.getvalue()), read_grid("a.xlsx", out.getvalue(), sheet="Oil")
    assert (first.sheets, first.headings, second.headings) == (("Sheet", "Oil"), ("Nothing",), ("Date", "Machine"))


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("a.xls", b"x", "this kind of spreadsheet is not read"), ("a.xlsx", b"x", "no whole .xlsx file"),
        ("a.xlsx", book(heads=()), "it is empty"), ("a.csv", b"", "the file is empty"), ("a.csv", b"a,b\n\0", "no text in that encoding"),
        ("a.csv", b"Date,\xd6l\n", "In Windows text"), ("a.csv", b'Date\n"x"y\n', "this is no valid row"),
        ("a.csv", b"a\n" + b"1\n" * (MOST_ROWS + 1), "more than 100,000 rows"), ("a.csv", b"x" * 50_000_001, "larger than 50 MB"),
    ],
    ids=range(9),
)  # fmt: skip
def test_a_file_that_cannot_be_read_is_one_sentence(name, data, said):
    with pytest.raises(FileProblem, match=said):
        read_grid(name, data)


def test_headings_are_made_different(look):
    assert read_grid("a.csv", b"x,,x\n").headings == ("x", "column 2", "x (2)")


def test_columns_that_are_not_in_the_file_are_named(store, make):
    said = Columns("services", {"time": "Date", "machine": "M", "task": "T"}, decimal="point", dates="year first")
    with pytest.raises(BadInput, match="This file has: Date"):
        preview(store, read_grid("a.csv", b"Date\n1\n"), said, now_utc=make.now, place=lambda at: at)


def test_the_list_of_bad_rows_is_safe_to_open_and_the_first_rows_are_shown(look):
    found = look("Date,Machine,Tank,Litres,Remark\n2026-04-01,ex-1,tank,=1+1,\n2026-04-01,ex-1,tank,5,dark\n")
    assert ",'=1+1," in problems_csv(found.problems)
    (shown,) = said_of(found, 5)
    assert (shown["time"], shown["machine"]) == ("2026-04-01 12:00+00:00", "ex-1")
    assert "volume l 5" in shown["what"]


@pytest.mark.parametrize("text", ["=1", "'=1", "''=1", " =1", "@x", "-x", "-5.2", "+49 1", "it's", "'quoted'", "", "a=b", "\t=1", "＝1"])
def test_a_text_made_safe_reads_back(text):
    safe = quoted(text)
    assert unquoted(safe) == text
    assert not safe.lstrip().startswith(("=", "@", "＝"))
    assert not safe.startswith("-") or safe == "-5.2"
