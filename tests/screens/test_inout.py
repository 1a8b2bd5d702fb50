"""Records in and out: columns suggested and changeable, nothing read before it is said, bad rows named, stored once, all of it out."""

import datetime
from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.store import Store
from fluidapp.store.export import export_files, export_zip

Open = Callable[..., AppTest]
GOOD = (
    "Date;Machine;Compartment;Gauge;Level (mm);Oil temp (°C);Note\n"
    "1.4.2026 06:30;Excavator 1;Hydraulic tank;glass;212,5;21;=1+1\n2.4.2026;ex-1;tank;glass;below;;\n"
)
BAD = GOOD + "31.4.2026;ex-1;tank;glass;210;;\n3.4.2026;ex-9;tank;glass;210;;\n4.4.2026;ex-1;tank;glass;2.5;;\n"


def put(at: AppTest, text: str, name: str = "mine.csv") -> AppTest:
    at.file_uploader[0].upload(name, text.encode(), "text/csv").run()
    assert not at.exception
    return at


def say(at: AppTest, table: str = "readings") -> AppTest:
    at.selectbox(key="inout_table").set_value(table).run()
    at.radio[0].set_value("comma").run()
    at.radio[1].set_value("day first").run()
    assert not at.exception
    return at


def button(at: AppTest) -> object:
    return next((b for b in at.button if b.key == "inout_store"), None)


def test_nothing_is_read_before_the_styles_are_said(open_screen: Open) -> None:
    at = put(open_screen("inout"), GOOD)
    assert any("Choose what the rows" in i.value for i in at.info)
    at.selectbox(key="inout_table").set_value("readings").run()
    (said,) = [i.value for i in at.info if "Before the rows can be read" in i.value]
    assert "decimal mark" in said
    assert "order of day" in said
    assert button(at) is None


def test_a_table_is_stored_once_and_recognised_when_it_comes_again(open_screen: Open, records: Store) -> None:
    at = say(put(open_screen("inout"), GOOD))
    assert any("Every row can be taken in (2): 2 new" in s.value for s in at.success)
    button(at).click().run()
    assert not at.exception
    first, second = records.entries("ex-1")[::-1]
    assert (first.doc.level, first.doc.temp_c, first.doc.note, first.doc.as_read) == (212.5, 21.0, "=1+1", "212,5 mm")
    assert first.at_local.strftime("%Y-%m-%d %H:%M") == "2026-04-01 06:30"
    assert (second.doc.bound, second.doc.level, second.doc.as_read) == ("at most", None, "below")
    assert second.at_local.strftime("%H:%M") == "12:00"
    at = say(put(at, GOOD))
    assert any("0 new, 2 in the records already" in s.value for s in at.success)
    assert button(at).disabled


def test_every_bad_row_is_named_and_nothing_can_be_stored(open_screen: Open, records: Store) -> None:
    at = say(put(open_screen("inout"), BAD))
    assert any("3 of 5 rows cannot be taken in" in e.value for e in at.error)
    shown = at.table[0].value
    assert list(shown["row"]) == ["4", "5", "6"]
    assert list(shown["column"]) == ["Date", "Machine", "Level (mm)"]
    assert list(shown["value"]) == ["31.4.2026", "ex-9", "2.5"]
    assert button(at).disabled
    assert records.count() == 0


def test_a_column_can_be_chosen_otherwise(open_screen: Open, records: Store) -> None:
    at = say(put(open_screen("inout"), GOOD.replace("Level (mm)", "Figure")))
    assert any("the column of: Reading" in i.value for i in at.info)
    next(s for s in at.selectbox if s.label == "Reading").set_value("Figure").run()
    assert any("the unit of: Reading" in i.value for i in at.info)
    next(s for s in at.selectbox if s.label == "Unit of: Reading").set_value("cm").run()
    assert any("2 of 2" in e.value or "1 of 2" in e.value for e in at.error)  # 212.5 cm is no reading of this glass
    next(s for s in at.selectbox if s.label == "Unit of: Reading").set_value("mm").run()
    assert any("Every row can be taken in (2)" in s.value for s in at.success)


def test_what_is_no_text_is_one_sentence_and_another_encoding_can_be_chosen(open_screen: Open) -> None:
    at = open_screen("inout")
    at.file_uploader[0].upload("mine.csv", GOOD.replace("Note", "Bemérk").encode("cp1252"), "text/csv").run()
    assert not at.exception
    assert "choose that encoding" in at.error[0].value
    at.selectbox(key="inout_encoding").set_value("Windows (cp1252)").run()
    assert not at.error


def test_the_files_of_an_export_come_back_on_empty_records(open_demo_screen: Open, tmp_path: object) -> None:
    at = open_demo_screen("inout")
    assert not at.exception
    assert any("Everything as readable files" in b.label for b in at.get("download_button"))


def test_a_zip_of_an_export_is_read_in(open_screen: Open, records: Store, tmp_path_factory: pytest.TempPathFactory) -> None:
    from fluidapp.model import Product
    from fluidapp.store import open_store

    other = open_store(tmp_path_factory.mktemp("other") / "r.db")
    other.put(
        *records.machines(), Product(key="hyd", label="Oil", kind="oil"), now_utc=datetime.datetime(2026, 1, 5, 8, tzinfo=datetime.UTC)
    )
    at = open_screen("inout")
    at.file_uploader[0].upload("out.zip", export_zip(other), "application/zip").run()
    at.button(key="inout_files").click().run()
    assert not at.exception
    assert not at.error
    assert [p.key for p in records.products()] == ["hyd"]
    assert set(export_files(other)) == set(export_files(records))
    at.file_uploader[0].upload("out.zip", export_zip(other)[:200], "application/zip").run()
    assert "no whole zip file" in at.error[0].value
