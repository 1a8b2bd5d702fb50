"""Machines: added from a class or a copy, edited field by field with the litres while typing, every save a version, files in and out."""

import datetime
import re
from collections.abc import Callable
from pathlib import Path

import pyarrow
import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.calc import build, level
from fluidapp.calc.figure import figure
from fluidapp.model import Frustum, Hopper, Machine, Mesh, Product, Reading, SlopedFloor, Sphere, Upright, from_toml, to_toml, typical
from fluidapp.store import NewEntry, Save, Store, kinds, open_store
from fluidapp.store.demo import built

Open = Callable[..., AppTest]
AT = datetime.datetime(2026, 3, 2, 6, 30, tzinfo=datetime.UTC)
PART = "machines_edit_part"


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return open_store(tmp_path / "records.db")


@pytest.fixture
def digger(store: Store) -> Store:
    oil = Product(key="hyd", label="Hydraulic oil VG 46", kind="oil")
    store.put(oil, typical.machine("20 t excavator", "digger", "Digger"), now_utc=AT, by="Ada")
    return store


@pytest.fixture
def editing(digger: Store, open_empty: Open) -> Callable[[str], AppTest]:
    """Opens Edit on one thing of the digger."""

    def opened(what: str) -> AppTest:
        at = open_empty("machines", machine="digger")
        at.segmented_control(key="machines_what").set_value("Edit").run()
        return at.selectbox(key="machines_edit_what").set_value(what).run()

    return opened


def typed(at: AppTest, **boxes: str) -> AppTest:
    for key, text in boxes.items():
        at.text_input(key=key).set_value(text)
    return at.run()


def said(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.success, *at.warning, *at.error))


def saved(at: AppTest, key: str = "machines_edit_save") -> AppTest:
    at.button(key=key).click().run()
    assert not at.exception
    return at


def test_a_newcomer_starts_on_add(store: Store, open_empty: Open) -> None:
    at = open_empty("machines")
    assert at.segmented_control(key="machines_what").value == "Add"
    assert "No machine is entered yet" in said(at)


@pytest.mark.parametrize("size", list(typical.SIZES))
def test_a_machine_of_a_typical_class_is_added_and_marked(store: Store, open_empty: Open, size: str) -> None:
    at = open_empty("machines")
    typed(at, machines_add_label="Excavator 7")
    at.selectbox(key="machines_add_size").set_value(size).run()
    saved(at, "machines_add_save")
    made = store.machine("excavator-7")
    assert made == typical.machine(size, "excavator-7", "Excavator 7")
    assert made.typical
    assert "Excavator 7 is entered. Version 1." in said(at)
    assert at.segmented_control(key="machines_what").value == "Look"
    assert "Typical figures of its class" in said(at)


def test_a_copy_has_everything_but_the_name(digger: Store, open_empty: Open) -> None:
    at = open_empty("machines", machine="digger")
    at.segmented_control(key="machines_what").set_value("Add").run()
    at.segmented_control(key="machines_add_from").set_value("copy").run()
    typed(at, machines_add_label="Digger 2")
    at.selectbox(key="machines_add_of").set_value("digger").run()
    saved(at, "machines_add_save")
    made, old = digger.machine("digger-2"), digger.machine("digger")
    assert made.model_copy(update={"key": old.key, "label": old.label}) == old


@pytest.mark.parametrize(
    ("label", "size", "expected"),
    [
        ("", "20 t excavator", "Name of the machine: “” cannot be used. Enter the name"),
        ("Digger", "20 t excavator", "“Digger” cannot be used. Another machine has this name"),
        ("New one", None, "Class: “nothing” cannot be used. Choose one: 5 t excavator"),
    ],
)
def test_a_refused_addition_is_one_sentence_and_stores_nothing(
    digger: Store, open_empty: Open, label: str, size: str | None, expected: str
) -> None:
    at = open_empty("machines", machine="digger")
    at.segmented_control(key="machines_what").set_value("Add").run()
    typed(at, machines_add_label=label)
    at.selectbox(key="machines_add_size").set_value(size).run()
    saved(at, "machines_add_save")
    assert len(at.error) == 1
    assert expected in at.error[0].value
    assert [m.key for m in digger.machines()] == ["digger"]


def test_the_form_is_filled_and_saving_it_unchanged_makes_no_version(editing: Callable[[str], AppTest], digger: Store) -> None:
    for what in ("general", "part tank", "part slew-gearbox", "part drive-left", "bath bath", "cylinders", "points"):
        at = editing(what)
        saved(at)
        assert not at.error, (what, at.error[0].value)
        assert "Nothing was changed" in said(at), what
    assert len(digger.versions("digger")) == 1


def test_every_part_of_the_demo_machines_goes_through_its_form_unchanged(
    tmp_path: Path, open_demo_screen: Open, demo_machines: list[str], request: pytest.FixtureRequest
) -> None:
    """Two of them here, all with --long."""
    at = open_demo_screen("machines")
    store = open_store(tmp_path / "records.db")
    at.segmented_control(key="machines_what").set_value("Edit").run()
    for machine in demo_machines if request.config.getoption("--long") else ("gorse", "mallow"):
        of, n = store.machine(machine), len(store.versions(machine))
        at.selectbox(key="machine").set_value(machine).run()
        whats = ["general", "cylinders", "points", *(f"part {c.key}" for c in of.compartments), *(f"bath {b.key}" for b in of.baths)]
        for what in whats:
            at.selectbox(key="machines_edit_what").set_value(what).run()
            saved(at)
            assert not at.error, (machine, what, at.error[0].value)
            assert len(store.versions(machine)) == n, (machine, what)


def test_the_litres_follow_while_the_size_is_typed(editing: Callable[[str], AppTest], digger: Store) -> None:
    """Length 600 to 660 mm at 550 mm width, edges of 30 mm: 0.33 and 0.363 L per mm, less (4 - pi) 900 mm²; 600 mm high. By hand."""
    at = editing("part tank")
    cut = (4 - 3.141592653589793) * 900e-6
    assert f"Holds {600 * (0.33 - cut):.1f} L to the brim" in said(at)
    typed(at, **{f"{PART}_body_length": "660"})
    assert f"Holds {600 * (0.363 - cut):.1f} L to the brim" in said(at)
    low, _, half = at.table[0].value.to_numpy().tolist()[0][3].partition(" L to")[0].partition(" ± ")
    assert float(half) == 30.0  # 10 % typical of 134 L, 95 %, rounded up
    assert abs(float(low) - (0.363 - cut) * (110 + 260)) <= 10.0  # half a step of 20 L
    assert at.get("vega_lite_chart")
    assert len(digger.versions("digger")) == 1
    saved(at)
    assert digger.machine("digger").compartment("tank").body.length == 660.0
    assert "Version 2" in said(at)


def test_inches_are_taken_and_the_view_does_not_drift(editing: Callable[[str], AppTest], digger: Store) -> None:
    at = editing("part tank")
    at.selectbox(key="units").set_value("in, US gal").run()
    assert at.text_input(key=f"{PART}_body_length").value == "23.622"
    saved(at)
    assert "Nothing was changed" in said(at)
    typed(at, **{f"{PART}_body_length": "25"})
    saved(at)
    assert digger.machine("digger").compartment("tank").body.length == pytest.approx(635.0)


def test_an_edit_keeps_old_readings_with_the_version_they_were_read_with(editing: Callable[[str], AppTest], digger: Store) -> None:
    reading = kinds.LevelReading(node="tank", gauge="sight gauge", level=200.0, as_read="200 mm")
    digger.record(Save(id="s", entries=(NewEntry(machine="digger", at=AT, doc=reading),)), now_utc=AT)
    old = digger.machine("digger")
    at = editing("part tank")
    typed(at, **{f"{PART}_body_height": "650"})
    saved(at)
    (entry,) = digger.entries("digger", "reading")
    assert entry.version_id is not None
    assert digger.version(entry.version_id) == old
    assert digger.machine("digger") != old
    assert [v.n for v in digger.versions("digger")] == [2, 1]


@pytest.mark.parametrize(
    ("boxes", "expected"),
    [
        ({"body_length": "60x"}, ("Shape, length, along the machine", "60x")),
        ({"body_length": "-5"}, ("Hydraulic tank, Shape, Length, along the machine", "-5", "greater than 0")),
        ({"body_length": ""}, ("Hydraulic tank, Shape, Length, along the machine", "nothing", "Enter it")),
        ({"body_corner": "400"}, ("Hydraulic tank, Shape", "corner 400 mm is more than half the shorter side")),
        ({"gauges_0_end_mm": "4,5,0"}, ("Gauge 1, highest reading it can show", "4,5,0")),
        ({"gauges_0_bands_0_high": "200"}, ("Hydraulic tank, Gauge 1, Marks 1", "200 mm is not above low 260 mm")),
        ({"gauges_0_at_u": ""}, ("Gauge 1, place of its zero, up", "Enter all three")),
        ({"label": ""}, ("Name", "Enter it")),
    ],
)
def test_a_refusal_names_part_field_value_and_fix_and_stores_nothing(
    editing: Callable[[str], AppTest], digger: Store, boxes: dict[str, str], expected: tuple[str, ...]
) -> None:
    at = editing("part tank")
    typed(at, **{f"{PART}_{key}": text for key, text in boxes.items()})
    assert not at.exception
    assert at.text_input(key=f"{PART}_gauges_0_end_mm")  # the rest of the form stays
    saved(at)
    assert len(at.error) == 1
    assert all(word in at.error[0].value for word in expected), at.error[0].value
    assert len(digger.versions("digger")) == 1


def test_a_gauge_outside_its_tank_is_said_while_typing(editing: Callable[[str], AppTest]) -> None:
    at = editing("part tank")
    typed(at, **{f"{PART}_gauges_0_at_u": "900"})
    assert any("sight gauge" in w.value for w in at.warning)


def test_several_gauges_of_all_kinds_with_two_bands_can_be_entered(editing: Callable[[str], AppTest], digger: Store) -> None:
    at = editing("part tank")
    at.button(key=f"{PART}_gauges_0_bands_add").click().run()
    typed(at, **{
        f"{PART}_gauges_0_bands_1_low": "200", f"{PART}_gauges_0_bands_1_high": "280", f"{PART}_gauges_0_bands_1_label": "cold",
        f"{PART}_gauges_0_bands_1_temp_low_c": "10", f"{PART}_gauges_0_bands_1_temp_high_c": "30",
        f"{PART}_gauges_0_bands_1_posture": "bucket cylinder out",
    })  # fmt: skip
    for number, (kind, boxes) in enumerate(
        (
            ("stick", {"name": "dipstick", "tip_f": "100", "tip_l": "275", "tip_u": "20", "angle": "25", "toward": "0", "end_mm": "600"}),
            ("percent", {"name": "dial", "at_f": "0", "at_l": "0", "at_u": "0"}),
            ("level plug", {"name": "plug", "at_f": "0", "at_l": "0", "at_u": "300", "end_mm": "60"}),
        ),
        start=1,
    ):
        at.button(key=f"{PART}_gauges_add").click().run()
        at.selectbox(key=f"{PART}_gauges_{number}_kind").set_value(kind).run()
        typed(at, **{f"{PART}_gauges_{number}_{name}": text for name, text in boxes.items()})
    at.selectbox(key=f"{PART}_gauges_1_seated").set_value("rested").run()
    at.selectbox(key=f"{PART}_gauges_2_of").set_value("capacity").run()
    saved(at)
    assert not at.error, at.error[0].value
    tank = digger.machine("digger").compartment("tank")
    assert [(g.kind, g.name) for g in tank.gauges] == [
        ("sight glass", "sight gauge"), ("stick", "dipstick"), ("percent", "dial"), ("level plug", "plug"),
    ]  # fmt: skip
    assert tank.gauges[1].angle == 25.0
    assert tank.gauges[1].seated == "rested"
    assert tank.gauges[0].bands[1].posture == "bucket cylinder out"
    assert tank.gauges[0].bands[1].mark_c == 20.0


def test_a_gauge_is_taken_out_and_the_others_keep_what_was_typed(editing: Callable[[str], AppTest], digger: Store) -> None:
    at = editing("part tank")
    at.button(key=f"{PART}_gauges_add").click().run()
    typed(at, **{f"{PART}_gauges_1_name": "second", f"{PART}_gauges_1_end_mm": "500"})
    at.button(key=f"{PART}_gauges_0_out").click().run()
    saved(at)
    (left,) = digger.machine("digger").compartment("tank").gauges
    assert (left.name, left.end_mm) == ("second", 500.0)


@pytest.mark.parametrize(
    ("shape", "boxes", "litres"),
    [
        ("upright", {"diameter": "500", "height": "600"}, 3.141592653589793 / 4 * 5**2 * 6),
        ("horizontal cylinder", {"diameter": "500", "length": "800"}, 3.141592653589793 / 4 * 5**2 * 8),
        ("obround", {"length": "1000", "width": "500", "height": "400"}, 10 * (3.141592653589793 / 4 * 4**2 + 4 * 1)),
        ("elliptical", {"length": "1000", "width": "500", "height": "400"}, 10 * 3.141592653589793 / 4 * 5 * 4),
        ("sphere", {"diameter": "700"}, 3.141592653589793 / 6 * 7**3),
        (
            "cone",
            {"bottom_diameter": "300", "top_diameter": "600", "height": "700", "walls": "300"},
            3.141592653589793 * (4 / 12 * (3**2 + 3 * 6 + 6**2) + 6**2 / 4 * 3),
        ),
        ("sloped floor", {"length": "1000", "width": "500", "height": "600", "rise_forward": "100", "rise_left": "-50"}, 50 * (6 - 0.75)),
        (
            "hopper",
            {"length": "1000", "width": "600", "height": "800", "bottom_length": "400", "bottom_width": "200", "walls": "300"},
            5 / 6 * (8 + 4 * 7 * 4 + 60) + 60 * 3,
        ),
    ],
)
def test_every_shape_is_asked_for_and_holds_what_its_formula_says(
    editing: Callable[[str], AppTest], shape: str, boxes: dict[str, str], litres: float
) -> None:
    """Volumes of cylinder, obround, ellipse, sphere, cone, prismatoid by the school formulas."""
    at = editing("part tank")
    at.selectbox(key=f"{PART}_body_shape").set_value(shape).run()
    marks = {f"{PART}_gauges_0_at_u": "10", f"{PART}_gauges_0_bands_0_low": "100", f"{PART}_gauges_0_bands_0_high": "300"}
    typed(at, **{f"{PART}_body_{name}": text for name, text in boxes.items()}, **marks)
    assert f"olds {round(litres, 1):g} L to the brim" in said(at), said(at)
    assert at.get("vega_lite_chart")


BODIES = {
    "upright": Upright(shape="upright", diameter=400.0, height=600.0, bottom_head="conical", bottom_depth=90.0, top_head="torispherical"),
    "cone": Frustum(shape="cone", bottom_diameter=0.0, top_diameter=600.0, height=700.0, walls=300.0, at=(10.0, 20.0, 0.0)),
    "sphere": Sphere(shape="sphere", diameter=700.0),
    "hopper": Hopper(shape="hopper", length=1000.0, width=600.0, height=800.0, bottom_length=400.0, bottom_width=0.0, walls=300.0),
    "sloped": SlopedFloor(shape="sloped floor", length=1000.0, width=600.0, height=800.0, rise_forward=100.0, rise_left=-50.0),
}


def test_a_stored_shape_goes_through_its_form_unchanged(editing: Callable[[str], AppTest], digger: Store) -> None:
    old = digger.machine("digger")
    parts = tuple(old.compartment("tank").model_copy(update={"key": name, "label": name, "body": body}) for name, body in BODIES.items())
    digger.put(old.model_copy(update={"compartments": (*old.compartments, *parts)}), now_utc=AT, by="Ada")
    n = len(digger.versions("digger"))
    at = editing(f"part {next(iter(BODIES))}")
    for name in BODIES:
        at.selectbox(key="machines_edit_what").set_value(f"part {name}").run()
        saved(at)
        assert not at.error, (name, at.error[0].value)
        assert len(digger.versions("digger")) == n, name
        assert at.get("vega_lite_chart"), name


def test_the_depth_of_an_end_is_asked_for_only_where_it_has_to_be_measured(editing: Callable[[str], AppTest], digger: Store) -> None:
    def boxes() -> set[str]:
        return {box.key.removeprefix(f"{PART}_body_") for box in at.text_input if box.key.startswith(f"{PART}_body_")}

    at = editing("part tank")
    at.selectbox(key=f"{PART}_body_shape").set_value("upright").run()
    typed(at, **{f"{PART}_body_diameter": "400", f"{PART}_body_height": "600"})
    assert not boxes() & {"bottom_depth", "top_depth", "dish", "knuckle"}
    at.selectbox(key=f"{PART}_body_bottom_head").set_value("conical").run()
    at.selectbox(key=f"{PART}_body_top_head").set_value("torispherical").run()
    assert boxes() >= {"bottom_depth", "dish", "knuckle"}
    assert "top_depth" not in boxes()
    assert any("bottom_depth is missing" in w.value for w in at.warning), said(at)
    typed(at, **{f"{PART}_body_bottom_depth": "150"})
    assert any("Holds" in c.value for c in at.caption), said(at)
    at.selectbox(key=f"{PART}_body_top_head").set_value("flat").run()
    assert f"olds {3.141592653589793 * 4 * (6 + 0.5):.1f} L to the brim" in said(at), said(at)
    saved(at)
    body = digger.machine("digger").compartment("tank").body
    assert (body.bottom_head, body.bottom_depth, body.top_head, body.top_depth) == ("conical", 150.0, "flat", None)
    at.selectbox(key=f"{PART}_body_bottom_head").set_value("flat").run()  # the depth goes with its end
    saved(at)
    assert not at.error, at.error[0].value
    assert digger.machine("digger").compartment("tank").body.bottom_depth is None


WEDGE = Mesh(
    shape="mesh",
    corners=((0.0, 0.0, 0.0), (800.0, 0.0, 0.0), (0.0, 500.0, 0.0), (0.0, 0.0, 600.0), (800.0, 0.0, 600.0), (0.0, 500.0, 600.0)),
    faces=((1, 3, 2), (4, 5, 6), (1, 2, 5, 4), (2, 3, 6, 5), (3, 1, 4, 6)),
)


def test_a_tank_of_faces_from_a_file_is_shown_and_kept_when_the_rest_is_edited(
    editing: Callable[[str], AppTest], digger: Store, open_empty: Open
) -> None:
    at = editing("part tank")
    assert "flat faces, from its file" not in at.selectbox(key=f"{PART}_body_shape").options
    old = digger.machine("digger")
    tank = old.compartment("tank").model_copy(update={"body": WEDGE})
    digger.put(old.model_copy(update={"compartments": (tank, *old.compartments[1:])}), now_utc=AT, by="Ada")
    at = editing("part tank")
    assert "6 corners and 5 faces" in said(at)
    assert "olds 120 L to the brim" in said(at)
    saved(at)
    assert "Nothing was changed" in said(at)
    typed(at, **{f"{PART}_body_at_f": "10", f"{PART}_body_at_l": "-20", f"{PART}_body_at_u": "0", f"{PART}_label": "Wedge"})
    saved(at)
    assert not at.error, at.error[0].value
    tank = digger.machine("digger").compartment("tank")
    assert tank.label == "Wedge"
    assert tank.body == WEDGE.model_copy(update={"at": (10.0, -20.0, 0.0)})


def test_a_drawn_tank_is_seen_from_the_side_and_from_behind(editing: Callable[[str], AppTest]) -> None:
    """Length 600 and width 550 mm: what is drawn is as wide as the one or the other."""
    at = editing("part tank")

    def wide() -> float:
        (chart,) = at.get("vega_lite_chart")
        frames = [pyarrow.ipc.open_stream(d.data.data).read_pandas() for d in chart.proto.datasets]
        walls = max((f for f in frames if "loop" in f), key=len)
        return float(walls["x"].max() - walls["x"].min())

    assert wide() == pytest.approx(600.0)
    at.segmented_control(key=f"{PART}_view").set_value("behind").run()
    assert wide() == pytest.approx(550.0)


def test_a_drawn_outline_is_typed_corner_by_corner(editing: Callable[[str], AppTest], digger: Store) -> None:
    at = editing("part tank")
    at.selectbox(key=f"{PART}_body_shape").set_value("section").run()
    at.text_area(key=f"{PART}_body_outline").set_value("0 0\n600 0\n600 500\n0 500").run()
    typed(at, **{f"{PART}_body_length": "550"})
    assert "olds 165 L to the brim" in said(at)
    at.text_area(key=f"{PART}_body_outline").set_value("0 0\n600 zero\n600 500").run()
    assert any("line 2" in w.value and "zero" in w.value for w in at.warning)
    saved(at)
    assert "line 2" in at.error[0].value
    assert len(digger.versions("digger")) == 1


def test_what_stands_inside_is_taken_off(editing: Callable[[str], AppTest], digger: Store) -> None:
    at = editing("part tank")
    at.button(key=f"{PART}_minus_add").click().run()
    typed(at, **{f"{PART}_minus_0_volume": "10", f"{PART}_minus_0_bottom": "50", f"{PART}_minus_0_top": "300"})
    cut = (4 - 3.141592653589793) * 900e-6
    assert f"olds {600 * (0.33 - cut) - 10:.1f} L" in said(at)
    saved(at)
    assert digger.machine("digger").compartment("tank").minus[0].volume == 10.0


def test_a_table_instead_of_a_shape(editing: Callable[[str], AppTest], digger: Store) -> None:
    at = editing("part tank")
    at.pills(key=f"{PART}_ways").set_value(["table"]).run()
    at.text_area(key=f"{PART}_table").set_value("0 0\n100 33,5\n200; 66\n450 150").run()
    assert "olds 150 L to the highest level that is known here" in said(at)
    saved(at)
    tank = digger.machine("digger").compartment("tank")
    assert tank.table == ((0.0, 0.0), (100.0, 33.5), (200.0, 66.0), (450.0, 150.0))
    assert tank.body is None


def test_pours_beside_a_shape_that_contradict_it_are_named(editing: Callable[[str], AppTest]) -> None:
    at = editing("part tank")
    at.pills(key=f"{PART}_ways").set_value(["body", "pours"]).run()
    for n in range(2):
        at.button(key=f"{PART}_pours_add").click().run()
        typed(at, **{f"{PART}_pours_{n}_add": "20", f"{PART}_pours_{n}_before": "270", f"{PART}_pours_{n}_after": "300"})
    assert any("more than chance" in w.value for w in at.warning)


def test_a_gearbox_packed_with_grease_has_no_level(editing: Callable[[str], AppTest], digger: Store) -> None:
    at = editing("part slew-gearbox")
    at.checkbox(key=f"{PART}_packed").set_value(True).run()
    typed(at, **{f"{PART}_grease_packed_kg": "1,5"})
    assert not at.warning
    saved(at)
    part = digger.machine("digger").compartment("slew-gearbox")
    assert part.grease_packed_kg == 1.5
    assert part.gauges == ()
    assert part.fill is None


def test_a_second_slewing_drive_with_its_side_is_a_new_compartment(editing: Callable[[str], AppTest], digger: Store) -> None:
    at = editing("new compartment")
    key = "machines_edit_new_compartment"
    typed(at, **{f"{key}_label": "Slewing gearbox right"})
    at.selectbox(key=f"{key}_kind").set_value("slewing gearbox").run()
    at.selectbox(key=f"{key}_side").set_value("right").run()
    at.selectbox(key=f"{key}_product").set_value("hyd").run()
    at.pills(key=f"{key}_ways").set_value(["fill"]).run()
    typed(at, **{f"{key}_fill_litres": "6", f"{key}_fill_reading": "60", f"{key}_fill_depth_mm": "180"})
    at.button(key=f"{key}_gauges_add").click().run()
    typed(at, **{f"{key}_gauges_0_name": "dipstick", f"{key}_gauges_0_end_mm": "120"})
    saved(at)
    assert not at.error, at.error[0].value
    part = digger.machine("digger").compartment("slewing-gearbox-right")
    assert (part.side, part.product, part.fill.litres, part.gauges[0].name) == ("right", "hyd", 6.0, "dipstick")


def test_a_compartment_is_taken_off(editing: Callable[[str], AppTest], digger: Store) -> None:
    at = editing("part drive-left")
    at.button(key="machines_edit_take_out").click().run()
    assert not at.exception
    assert "drive-left" not in [c.key for c in digger.machine("digger").compartments]


def test_a_bath_by_gear_and_wall_shows_its_litres(editing: Callable[[str], AppTest], digger: Store) -> None:
    """m 10, z 90, internal, wall 380 mm: 0.18371 L/mm. Source: computed by us."""
    at = editing("bath bath")
    at.segmented_control(key="machines_edit_bath_way").set_value("gear").run()
    at.checkbox(key="machines_edit_bath_gear_internal").set_value(True)
    typed(at, machines_edit_bath_gear_module="10", machines_edit_bath_gear_teeth="90", machines_edit_bath_wall_radius_mm="380")
    assert "0.184 L in each mm of depth" in said(at)
    saved(at)
    bath = digger.machine("digger").bath("bath")
    assert bath.area_l_per_mm is None
    assert bath.gear.teeth == 90


def test_cylinders_and_a_new_grease_point(editing: Callable[[str], AppTest], digger: Store) -> None:
    at = editing("cylinders")
    typed(at, machines_edit_cylinders_cylinders_0_rod="90")
    saved(at)
    assert digger.machine("digger").cylinders[0].rod == 90.0
    at = editing("points")
    at.button(key="machines_edit_points_points_add").click().run()
    typed(at, machines_edit_points_points_1_label="Boom foot pin", machines_edit_points_points_1_limit_h="10")
    at.selectbox(key="machines_edit_points_points_1_kind").set_value("pin").run()
    typed(at, machines_edit_points_points_0_ring_nipples_deg="0, 180")
    saved(at)
    assert not at.error, at.error[0].value
    points = digger.machine("digger").grease_points
    assert points[0].ring.nipples_deg == (0.0, 180.0)
    assert (points[1].key, points[1].limit_h, points[1].ring) == ("boom-foot-pin", 10.0, None)


def test_the_doubts_of_a_machine_are_edited_and_count_in_its_answers(editing: Callable[[str], AppTest], digger: Store) -> None:
    before = digger.machine("digger")
    reading = Reading(level=before.compartment("tank").gauges[0].bands[0].low)
    at = editing("doubts")
    assert at.text_input(key="machines_edit_doubts_doubts_glass_mm").value == "3"
    typed(at, machines_edit_doubts_doubts_glass_mm="30", machines_edit_doubts_doubts_stick_mm="30")
    saved(at)
    after = digger.machine("digger")
    assert after.doubts == before.doubts.model_copy(update={"glass_mm": 30.0, "stick_mm": 30.0})
    lines = [{line.name: line.u_l for line in level.volume(machine, "tank", reading).budget} for machine in (before, after)]
    assert lines[1]["reading"] == pytest.approx(10 * lines[0]["reading"])
    typed(at, machines_edit_doubts_doubts_glass_mm="0")
    at.button(key="machines_edit_save").click().run()
    assert "One reading of a glass" in at.error[0].value


def test_look_shows_versions_marks_and_the_dip_chart(digger: Store, open_empty: Open) -> None:
    at = open_empty("machines", machine="digger")
    text = said(at)
    assert "Version 1 of 2026-03-02 by Ada" in text
    assert [b.proto.label for b in at.get("download_button")] == ["Card (PDF)", "Table (CSV)"]
    lines = at.table[-3].value if len(at.table) > 4 else at.table[2].value
    assert {"mm", "L", "± L", "mark"} <= set(lines.columns)
    typed(at, machines_step="0.1")
    assert any("more than 400 lines" in e.value for e in at.error)
    typed(at, machines_step="2 mm")
    assert not at.error
    assert "more than one card holds" in said(at)


def test_look_gives_every_litre_its_doubt(digger: Store, open_empty: Open) -> None:
    at = open_empty("machines", machine="digger")
    marks = next(t.value for t in at.table if "litres" in t.value.columns)["litres"].iloc[0]
    assert re.fullmatch(r"\d+ ± \d+ L to \d+ ± \d+ L", marks), marks
    assert re.search(r"Holds \d+ ± \d+ L to the brim\. Litres per mm known to about ± 20 % \(95 %\)", said(at)), said(at)


def test_two_pours_that_differ_widen_the_doubt_by_their_one_degree_of_freedom(store: Store, open_empty: Open) -> None:
    """20 L over 47 and 67 mm: the scatter sets the doubt, one degree of freedom, t95 = 12.7."""
    glass = {"kind": "sight glass", "name": "glass", "end_mm": 350.0}
    pours = [{"add": 20.0, "before": 150.0, "after": after} for after in (197.0, 217.0)]
    part = {"key": "tank", "label": "Tank", "kind": "other", "fill": {"litres": 100.0, "reading": 250.0}, "gauges": [glass], "pours": pours}
    store.put(Machine.model_validate({"key": "rig", "label": "Rig", "compartments": [part]}), now_utc=AT)
    doubt = build.doubt(store.machine("rig").compartment("tank"))
    assert doubt.dof == 1.0
    wide = figure(100.0, 100.0 * doubt.rel, 1.0, "%").plus_minus
    assert wide != figure(100.0, 100.0 * doubt.rel, unit="%").plus_minus
    assert f"Litres per mm known to about {wide} (95 %)" in said(open_empty("machines", machine="rig"))


def test_a_file_goes_out_and_comes_back_as_the_same_machine() -> None:
    for size in typical.SIZES:
        machine = typical.machine(size, "ex", "Excavator")
        assert from_toml(to_toml(machine, "a line"), "ex.toml", Machine) == machine
    for machine in open_store(built()).machines():
        assert from_toml(to_toml(machine), f"{machine.key}.toml", Machine) == machine


def files(at: AppTest) -> AppTest:
    return at.segmented_control(key="machines_what").set_value("Files").run()


def test_a_file_is_taken_over_as_a_new_version_only_on_the_button(digger: Store, open_empty: Open) -> None:
    changed = digger.machine("digger").model_copy(update={"note": "from a file"})
    at = files(open_empty("machines", machine="digger"))
    at.file_uploader(key="machines_file_in").upload("digger.toml", to_toml(changed).encode(), "application/toml").run()
    assert not at.exception
    assert "A new version of Digger" in said(at)
    assert len(digger.versions("digger")) == 1
    saved(at, "machines_file_save")
    assert digger.machine("digger").note == "from a file"


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"", "the file is empty"),
        (b"key = ", "not valid TOML"),
        (b"\xff\xfe\x00", "not text in UTF-8"),
        (b'key = "x"\nlabel = "X"\nwheels = 4\n', "there is no such field"),
        (b'key = "x"\nlabel = "X"\nclass_t = "20,5"\n', "class_t"),
        (b'key = "hyd"\nlabel = "X"\n', "already the name of a product"),
    ],
)
def test_a_file_with_a_mistake_is_one_sentence_and_nothing_is_stored(digger: Store, open_empty: Open, data: bytes, expected: str) -> None:
    at = files(open_empty("machines", machine="digger"))
    at.file_uploader(key="machines_file_in").upload("wrong.toml", data, "application/toml").run()
    if not at.error:
        saved(at, "machines_file_save")
    assert not at.exception
    assert len(at.error) == 1
    assert expected in at.error[0].value
    assert at.error[0].value.endswith("Nothing was stored.")
    assert [m.key for m in digger.machines()] == ["digger"]


def test_a_machine_leaves_the_lists_and_comes_back(digger: Store, open_empty: Open) -> None:
    at = files(open_empty("machines", machine="digger"))
    at.button(key="machines_file_archive").click().run()
    assert not at.exception
    assert digger.machines() == []
    files(at)
    at.selectbox(key="machines_file_back").set_value("digger").run()
    at.button(key="machines_file_back_save").click().run()
    assert not at.exception
    assert [m.key for m in digger.machines()] == ["digger"]
