"""A folder of readable files goes in whole, or not at all, and every problem is named by its place."""

import csv
import io
import pickle
from datetime import timedelta

import pytest

from fluidapp.errors import FileProblem
from fluidapp.model import Machine
from fluidapp.store import NewEntry, Save, kinds, open_store
from fluidapp.store.files import FilesProblem, load_files, load_folder, parse
from fluidapp.store.tables import SHEETS, row_of

READINGS = """time,machine,meter_h,by,node,gauge,reading,unit,bound,oil_c
2026-04-01T06:30+02:00,ex-1,5123.4,early,tank,glass,212,mm,,21
2026-04-02T06:30+02:00,ex-1,5131.0,early,tank,glass,8 3/8,in,,
2026-04-03T06:30+02:00,ex-1,,late,slew,stick,0,mm,at most,12
"""
MOVEMENTS = """time,machine,by,from,to,product,amount,unit,u,purpose
2026-04-02T07:00+02:00,ex-1,truck,stock,tank,hyd,5,US gal,0.1,top-up
2026-04-02T08:00+02:00,,truck,outside,stock,grease,18,kg,,stock
"""
SHOTS = """time,machine,point,nipple,swing_deg,strokes,gun,purge_seen
2026-04-02T09:00+02:00,ex-1,ring,2,90,13,gun-a,yes
"""
METERS = """time,machine,meter_h,state,old_end_h
2026-04-04T09:00+02:00,ex-1,0.4,exchanged,5140.0
2026-04-05T09:00+02:00,ex-1,,not read,
"""
OTHERS = """
[[entry]]
time = 2026-04-06T06:30:00+02:00
machine = "ex-1"
meter_h = 9.5
by = "workshop"
kind = "task done"
task = "oil change"
node = "slew"
"""
FILES = {"readings.csv": READINGS, "movements.csv": MOVEMENTS, "shots.csv": SHOTS, "meters.csv": METERS, "others.toml": OTHERS}


@pytest.fixture
def load(store, make):
    """Loads files given as texts, on top of the good ones or alone."""

    def load(files=FILES, **more):
        return load_files(store, {name: text.encode() for name, text in files.items()}, now_utc=make.now, **more)

    return load


def test_good_files_go_in_with_all_their_figures(store, load):
    assert load().entries == 9
    readings = store.entries("ex-1", "reading")
    assert [(e.doc.node, e.doc.level, e.doc.bound, e.doc.temp_c, e.doc.as_read, e.by_name) for e in readings] == [
        ("ex-1/slew", 0, "at most", 12, "0 mm", "late"),
        ("ex-1/tank", 212.725, "exact", None, "8 3/8 in", "early"),
        ("ex-1/tank", 212, "exact", 21, "212 mm", "early"),
    ]
    poured, delivered = store.movements()
    assert poured.volume_l == pytest.approx(5 * 3.785411784, rel=1e-12)  # the US gallon, 231 cubic inches, by definition
    assert poured.u == pytest.approx(0.3785411784, rel=1e-12)
    assert (delivered.mass_kg, delivered.volume_l, delivered.to_node) == (18, None, "stock")
    (shot,) = store.shots("ex-1", "ring")
    assert (shot.doc.nipple, shot.doc.swing_deg, shot.doc.strokes, shot.doc.purge_seen) == (2, 90, 13, True)
    assert [(p.meter_h, p.segment, p.total_h) for p in store.meter_points("ex-1")][-2:] == [(0.4, 1, 5140), (9.5, 1, 5149.1)]
    assert readings[0].at_local.isoformat() == "2026-04-03T06:30:00+02:00"
    assert (readings[0].source, readings[0].file) == ("import", "readings.csv")


def test_the_same_files_again_store_nothing_and_a_grown_one_only_what_is_new(store, load):
    load()
    again = load()
    assert (again.entries, again.already) == (0, 9)
    grown = load({**FILES, "shots.csv": SHOTS + "2026-04-03T09:00+02:00,ex-1,ring,2,180,13,gun-a,yes\n"})
    assert (grown.entries, grown.already) == (1, 9)
    assert store.count() == 10


def test_true_twins_in_a_file_are_both_kept(store, load):
    twins = SHOTS + SHOTS.splitlines()[1] + "\n"
    assert load({"shots.csv": twins}).entries == 2
    assert load({"shots.csv": twins}).entries == 0


def test_a_twin_added_to_a_file_is_stored_once(store, load):
    load({"shots.csv": SHOTS})
    twins = SHOTS + SHOTS.splitlines()[1] + "\n"
    assert (load({"shots.csv": twins}).entries, load({"shots.csv": twins}).entries) == (1, 0)


def test_a_row_shows_the_amount_and_its_doubt_in_the_unit_that_was_typed(store, load):
    load()
    sheet = SHEETS["movements"]
    row = row_of(sheet, store.entries(node="ex-1/tank", kinds="movement")[0])
    assert (row["amount"], row["unit"], row["u"], row["to"], row["as_read"]) == ("5", "US gal", "0.1", "tank", "5 US gal")


def test_a_voided_row_does_not_come_back_with_its_file(store, load, put, make):
    load()
    wrong = store.last_reading("ex-1", "tank")
    put(make.entry(kinds.Void(entry=wrong.id), 20))
    assert load().entries == 0
    assert store.last_reading("ex-1", "tank").id != wrong.id


BAD = [
    ("readings.csv", READINGS.replace(",21\n", ",1500\n"), "row 2, column “oil_c”", "“1500” cannot be used: input should be less than"),
    ("readings.csv", READINGS.replace(",212,mm", ",12,5,mm"), "row 2", "it has 11 cells, the header has 10"),
    ("readings.csv", READINGS.replace(",212,mm", ',"12,5",mm'), "row 2, column “reading”", "“12,5” cannot be used"),
    ("readings.csv", READINGS.replace(",212,mm", ",212,"), "row 2, column “unit”", "“” cannot be used"),
    ("readings.csv", READINGS.replace(",212,mm", ",212,gal"), "row 2, column “unit”", "“gal” cannot be used"),
    ("readings.csv", READINGS.replace(",212,mm", ",,mm"), "row 2", "an exact reading needs a level"),
    ("readings.csv", READINGS.replace("at most", "below"), "row 4, column “bound”", "“below” cannot be used"),
    (
        "readings.csv",
        READINGS.replace("2026-04-02T06:30+02:00", "2026-04-02T06:30"),
        "row 3, column “time”",
        "“2026-04-02T06:30” cannot be used",
    ),
    ("readings.csv", READINGS.replace("2026-04-02T06", "2 April 06"), "row 3, column “time”", "cannot be used"),
    ("readings.csv", READINGS.replace("5131.0", "5e3"), "row 3, column “meter_h”", "“5e3” cannot be used"),
    ("readings.csv", READINGS.replace("5131.0", "5100"), "row 3, hour meter", "5100 cannot be used"),
    ("readings.csv", READINGS.replace("ex-1,5123.4", "ex-7,5123.4"), "row 2", "Machine: “ex-7” is not known"),
    ("readings.csv", READINGS.replace("tank,glass,212", "tunk,glass,212"), "row 2", "Compartment of ex-1: “tunk” is not known"),
    ("readings.csv", READINGS.replace("glass,212", "stick,212"), "row 2", "Gauge: “stick” is not known"),
    ("readings.csv", READINGS.replace("glass,212", "tube,412"), "row 2, tube", "412 cannot be used"),
    ("readings.csv", READINGS.replace("2026-04-01", "2027-04-01"), "row 2, time", "cannot be used"),
    ("readings.csv", READINGS.replace("node,gauge", "node,gage"), "row 1, column “gage”", "this column is not known"),
    ("readings.csv", READINGS.replace(",unit,", ",gauge,"), "row 1, column “gauge”", "this column stands there twice"),
    ("readings.csv", READINGS.replace("node", "note", 1), "row 1", "the column “node” is missing"),
    ("readings.csv", "", "", "the file is empty"),
    ("readings.csv", READINGS.replace("early,tank,glass,8 3/8", '"early,tank,glass,8 3/8'), "row 3", "this is no valid row"),
    ("movements.csv", MOVEMENTS.replace("US gal", "gal"), "row 2, column “unit”", "“gal” cannot be used"),
    ("movements.csv", MOVEMENTS.replace("US gal", "buckets"), "row 2, column “unit”", "“buckets” cannot be used"),
    ("movements.csv", MOVEMENTS.replace("top-up", "gift"), "row 2, column “purpose”", "“gift” cannot be used"),
    ("movements.csv", MOVEMENTS.replace(",5,US", ",-5,US"), "row 2, column “amount”", "“-5” cannot be used"),
    ("movements.csv", MOVEMENTS.replace(",5,US", ",,US"), "row 2", "a movement needs litres or kilograms"),
    ("movements.csv", MOVEMENTS.replace(",hyd,", ",hid,"), "row 2", "Product: “hid” is not known"),
    ("shots.csv", SHOTS.replace(",2,90", ",2.5,90"), "row 2, column “nipple”", "“2.5” cannot be used"),
    ("shots.csv", SHOTS.replace(",2,90", ",3,90"), "row 2, nipple", "3 cannot be used"),
    ("shots.csv", SHOTS.replace(",yes", ",maybe"), "row 2, column “purge_seen”", "“maybe” cannot be used"),
    ("shots.csv", SHOTS.replace("gun-a", "gun-b"), "row 2", "Gun: “gun-b” is not known"),
    ("meters.csv", METERS.replace("not read,", "not read,7"), "row 3, column “old_end_h”", "“7” cannot be used"),
    ("meters.csv", METERS.replace("not read", "lost"), "row 3, column “state”", "“lost” cannot be used"),
    ("meters.csv", METERS.replace("5140.0", "5000"), "row 2, old hour meter", "5000 cannot be used"),
    ("others.toml", OTHERS.replace("task done", "task"), "entry 1", "does not match any of the expected tags"),
    ("others.toml", OTHERS.replace("2026-04-06T06:30:00+02:00", '"today"'), "entry 1, time", "this is no date and time"),
    ("others.toml", OTHERS.replace("2026-04-06T06:30:00+02:00", "2026-04-06T06:30:00"), "entry 1, field “at”", "timezone"),
    ("others.toml", OTHERS.replace("9.5", '"9.5"'), "entry 1, field “meter_h”", "input should be a valid number"),
    ("others.toml", OTHERS.replace("[[entry]]", "[[entri]]"), "“entri”", "this table is not known"),
    ("others.toml", OTHERS.replace("[[entry]]", "[entry]"), "[entry]", "this is a list"),
    ("others.toml", OTHERS + "x = ", "", "this is not valid TOML"),
    ("fuel.csv", "a,b\n", "", "this table is not known"),
    ("machines/x.toml", 'key = "x"', "label", ""),
]


@pytest.mark.parametrize(("file", "text", "where", "problem"), BAD, ids=[f"{b[0]} {b[3]} {n}" for n, b in enumerate(BAD)])
def test_a_problem_is_named_by_file_row_column_and_value_and_nothing_is_stored(store, load, file, text, where, problem):
    extra = '[[product]]\nkey = "new"\nlabel = "New"\nkind = "oil"\n'
    with pytest.raises(FilesProblem) as caught:
        load({"a.toml": extra, **FILES, file: text})
    (first,) = [p for p in caught.value.problems if p.file == file][:1]
    assert where in first.where
    assert problem in first.problem
    assert first.fix.endswith(".")
    assert str(caught.value).startswith(f"{caught.value.problems[0].file}")
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)
    assert store.count() == 0
    assert "new" not in [p.key for p in store.products()]


def test_every_row_that_cannot_be_read_is_named(load):
    two = SHOTS.replace(",2,90", ",two,90") + "x,ex-1,ring,1,90,13,gun-a,yes\n"
    with pytest.raises(FilesProblem, match="2 more after it") as caught:
        load({"shots.csv": two, "readings.csv": READINGS.replace("212,mm", "212,ell")})
    assert [(p.file, p.where) for p in caught.value.problems] == [
        ("shots.csv", "row 2, column “nipple”"),
        ("shots.csv", "row 3, column “time”"),
        ("readings.csv", "row 2, column “unit”"),
    ]


def test_all_rows_that_the_records_refuse_are_named(load):
    with pytest.raises(FilesProblem) as caught:
        load({"readings.csv": READINGS.replace("slew,stick", "slew,stack").replace("5131.0", "5100").replace("glass,212", "glas,212")})
    assert sorted(p.where for p in caught.value.problems) == ["row 2", "row 3, hour meter", "row 4"]


def test_a_file_that_is_not_utf8_is_named(store, make):
    with pytest.raises(FilesProblem, match=r"readings\.csv, byte 1: this is not UTF-8 text\. Save it as UTF-8"):
        load_files(store, {"readings.csv": b"\xff\xfe\x00"}, now_utc=make.now)


def test_decimal_commas_and_semicolons_are_read_when_they_are_asked_for(store, load):
    text = "time;machine;node;gauge;reading;unit\n2026-04-01T06:30+02:00;ex-1;tank;glass;212,5;mm\n"
    with pytest.raises(FilesProblem, match="Use a point as the decimal mark"):
        load({"readings.csv": text})
    load({"readings.csv": "\ufeff" + text}, decimal="comma")
    assert store.last_reading("ex-1", "tank").doc.level == 212.5


def test_a_folder_is_read_with_its_machines(tmp_path, make):
    folder = tmp_path / "pit"
    (folder / "machines").mkdir(parents=True)
    (folder / "site.toml").write_text('[site]\nkey = "pit"\nlabel = "Pit"\n[[gun]]\nkey = "g"\nlabel = "G"\n')
    (folder / "machines" / "a.toml").write_text('key = "a"\nlabel = "A"\n')
    (folder / "meters-2026.csv").write_text("time,machine,meter_h\n2026-04-01T06:30Z,a,7\n")
    store = open_store(tmp_path / "r.db")
    assert load_folder(store, folder, now_utc=make.now).entries == 1
    assert (store.site().label, store.gun("g").label, store.machine("a").label) == ("Pit", "G", "A")


def test_an_empty_or_missing_folder_is_named(tmp_path, store, make):
    with pytest.raises(FileProblem, match="there is no such folder"):
        load_folder(store, tmp_path / "no", now_utc=make.now)
    (tmp_path / "empty").mkdir()
    with pytest.raises(FileProblem, match="there is nothing to read in it"):
        load_folder(store, tmp_path / "empty", now_utc=make.now)


def test_a_second_site_is_refused():
    site = b'[site]\nkey = "a"\nlabel = "A"\n'
    assert [str(p) for p in parse({"a.toml": site, "b.toml": site}).problems] == ["b.toml, [site]: there is a second site. Keep one."]


ENTRIES = [
    kinds.LevelReading(
        node="tank",
        gauge="glass",
        level=212.725,
        as_read="8 3/8 in",
        temp_c=21.5,
        pitch_deg=-1.0,
        roll_deg=0.5,
        swing_deg=90.0,
        posture="other",
        shown_mm={"boom": 310.0, "arm": 0.0},
        u_mm=2.5,
        position_ok=True,
        colour="dark, thin",
        water_seen=False,
        free_oil_l=0.3,
        note="a, “b”\nc",
    ),
    kinds.LevelReading(node="tank", gauge="panel", level=60.0, as_read="60 %"),
    kinds.LevelReading(node="tank", gauge="glass", level=212.0, as_read="about 212"),
    kinds.LevelReading(node="tank", gauge="glass", bound="at least", as_read="above the glass"),
    kinds.LevelReading(node="bath", depths_mm=(18.0, 20.5, 21.0), depths_at_deg=(0.0, 120.0, 240.0)),
    kinds.LevelReading(node="bath", depths_mm=(19.5,), depths_n=4, as_read="19,5 mm"),
    kinds.LevelReading(node="tank", gauge="glass", level=12.5, as_read="12,5 mm"),
    kinds.LevelReading(node="tank", gauge="panel", level=12.5, as_read="12,5 %"),
    kinds.Movement(
        from_node="stock", to_node="tank", product="hyd", volume_l=18.92705892, u=0.0757, purpose="top-up", as_read="5 US gal", price=4.25
    ),
    kinds.Movement(from_node="tank", to_node="used-oil", mass_kg=4.5, volume_l=5.0, purpose="drain", currency="EUR", temp_c=40.0),
    kinds.Movement(from_node="wl-2/tank", to_node="outside", mass_kg=0.1 + 0.2, purpose="other"),
    kinds.Shot(
        point="ring", nipple=2, swing_deg=270.0, strokes=12.0, seconds=8.0, mass_g=14.4, gun="gun-a", purge_seen=False, as_read="12"
    ),
    kinds.Meter(state="broken since", note="since the storm"),
    kinds.Meter(as_read="5123.4"),
    kinds.MeterChanged(old_end_h=5140.5),
]


@pytest.mark.parametrize("doc", ENTRIES, ids=lambda d: d.kind)
def test_a_row_written_from_an_entry_reads_back_as_the_same_entry(store, make, tmp_path, doc):
    wl = Machine.model_validate({**make.machine, "key": "wl-2", "label": "Loader two"})
    store.put(wl, now_utc=make.now)
    meter = 5140.25 if doc.kind != "meter" or doc.state == "read" else None
    new = NewEntry(machine="ex-1", at=make.at() + timedelta(seconds=7), meter_h=meter, doc=doc)
    store.record(Save(id="s", entries=(new,), by_name="Ann"), now_utc=make.now)
    (before,) = store.entries()
    sheet = next(s for s in SHEETS.values() if doc.kind in s.kinds)
    out = io.StringIO()
    writer = csv.DictWriter(out, sheet.columns, lineterminator="\n")
    writer.writeheader()
    writer.writerow(row_of(sheet, before))
    other = open_store(tmp_path / "other.db")
    other.put(*store.machines(), *store.products(), *store.guns(), now_utc=make.now)
    load_files(other, {f"{sheet.name}.csv": out.getvalue().encode()}, now_utc=make.now)
    (after,) = other.entries()
    assert (after.doc, after.at, after.meter_h, after.by_name, after.id) == (before.doc, before.at, before.meter_h, "Ann", before.id)
    assert after.row_hash == before.row_hash
