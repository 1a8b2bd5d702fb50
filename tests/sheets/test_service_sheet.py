"""The service sheet as it is handed out: one page, read back from the file."""

import datetime
import io

import pypdf
import pytest

from fluidapp.calc import refill
from fluidapp.calc.figure import figure
from fluidapp.model import Product, Reading, typical
from fluidapp.model.machine import Container
from fluidapp.screens import _service_sheet
from fluidapp.screens.words import METRIC, Show
from fluidapp.sheets import service_sheet
from fluidapp.sheets.service_sheet import ServiceSheet, Step, service_sheet_pdf
from fluidapp.store import Store, open_store
from fluidapp.store.demo import built

MACHINE = typical.machine("20 t excavator", "ex-1", "Excavator 1")
PAIL = Container(label="20 L pail", volume_l=20.0)
PRODUCTS = {
    c.product: Product(key=c.product, label=f"Product {c.product}", kind="oil", rho15=870.0, containers=(PAIL,))
    for c in MACHINE.compartments
    if c.product
}
DAY = "2026-11-25"


def text_of(sheet: ServiceSheet) -> str:
    pages = pypdf.PdfReader(io.BytesIO(service_sheet_pdf(sheet))).pages
    assert len(pages) == 1
    return " ".join(str(pages[0].extract_text()).split())


def readings(low_mm: float) -> dict[str, _service_sheet.Last]:
    gauge = MACHINE.compartment("tank").gauge()
    return {"tank": _service_sheet.Last(Reading(gauge=gauge.name, level=gauge.bands[0].low - low_mm), "2026-11-24")}


@pytest.fixture(scope="module")
def demo() -> Store:
    return open_store(built())


def test_a_blank_sheet_has_every_compartment_its_product_and_its_blanks() -> None:
    said = text_of(_service_sheet.blank(MACHINE, PRODUCTS, DAY, METRIC))
    for part in MACHINE.compartments:
        assert part.label in said
    for word in ("Before", "Drained", "Added", "After", "Signature", "Hour meter, or “not read”", "Oil temperature", "Done by", DAY):
        assert word in said, word
    assert "add " not in said.partition("In the order of the work")[0].replace("Added", "")  # nothing is planned on it


def test_the_cautions_stand_before_the_first_step_with_their_sources() -> None:
    said = text_of(_service_sheet.blank(MACHINE, PRODUCTS, DAY, METRIC))
    assert said.index("The maker's manual, site rules, local codes and licensed people come before this sheet.") < said.index(
        "Compartment,"
    )
    for source in ("OSHA interpretation 1999-11-10", "HSE FOD 4-2014", "40 CFR 279.22"):
        assert said.index(source) < said.index("In the order of the work")
    assert "safe to" not in said


def test_samples_come_before_oil_is_added() -> None:
    # US Army LO 9-2350-261-12 (second-hand): never add oil just before a sample
    said = text_of(_service_sheet.blank(MACHINE, PRODUCTS, DAY, METRIC))
    assert said.index("Read the levels") < said.index("Take the samples") < said.index("Pour the product")


def test_a_planned_sheet_carries_litres_doubt_and_containers_of_the_last_reading() -> None:
    from fluidapp.calc import topup

    last = readings(30.0)
    sheet = _service_sheet.planned(MACHINE, PRODUCTS, last, DAY, METRIC)
    found = topup.answer(MACHINE, "tank", last["tank"].reading, (PAIL,), rho15=870.0)
    said = text_of(sheet)
    assert f"add {figure(found.add_l, found.u_l, found.dof)}" in said
    assert "read 2026-11-24" in said
    assert "for Hydraulic tank: " in said.partition("Bring")[2]
    assert "read again before you pour" in said


def test_a_risen_gear_case_is_never_told_to_be_drained_to_its_mark() -> None:
    part = MACHINE.compartment(next(c.key for c in MACHINE.compartments if c.kind == "slewing gearbox" and c.gauges))
    gauge = part.gauge()
    last = {part.key: _service_sheet.Last(Reading(gauge=gauge.name, level=gauge.bands[0].high + 60.0), "2026-11-24")}
    said = text_of(_service_sheet.planned(MACHINE, PRODUCTS, last, DAY, METRIC))
    assert "over its mark" in said
    assert "never let it down to the mark" in said
    assert "drain " not in said.partition("In the order of the work")[0].partition("Compartment,")[2]


def refill_sheet() -> tuple[refill.Plan, ServiceSheet]:
    tank = MACHINE.compartment("tank")
    product = tank.product or ""
    lines = [refill.hose(25.4, 2.0), refill.case(), refill.gear_case(6.0, name="Slewing gearbox", product=product)]
    gauge = tank.gauge()
    plan = refill.plan(MACHINE, "tank", Reading(gauge=gauge.name, level=gauge.bands[0].low), lines, seal=True, containers=(PAIL,))
    used = refill.Portion(6.0, 0.18, float("inf"), ())
    listed = refill.bring_list(refill.needs(plan.refill, product), {}, {product: (PAIL,)}, used=used, also=("Return filter",))
    return plan, _service_sheet.refilled(MACHINE, tank, plan, listed, PRODUCTS, DAY, METRIC)


def test_a_refill_has_its_two_numbers_its_bring_list_and_its_steps_in_order() -> None:
    plan, sheet = refill_sheet()
    said = text_of(sheet)
    before = plan.refill.before_start
    assert f"before start {figure(before.value_l, before.u_l, before.dof)}" in said
    assert "after running" in said
    assert "20 L pail" in said
    assert "Return filter" in said
    assert "1 empty pail." in said  # 6.0 + 2 x 0.18 = 6.36 L
    places = [said.index(" ".join(gate.text.split())[:40]) for gate in plan.steps]
    assert places == sorted(places)
    assert len(places) >= 12


def test_the_longest_refill_of_every_machine_of_the_demo_is_one_page(demo: Store) -> None:
    products = {p.key: p for p in demo.products()}
    for machine in demo.machines():
        assert text_of(_service_sheet.blank(machine, products, DAY, METRIC))
        last = _service_sheet.last_readings({c.key: demo.last_reading(machine.key, c.key) for c in machine.compartments})
        assert text_of(_service_sheet.planned(machine, products, last, DAY, Show("in", "US gal", "lb", "°F")))


def test_it_shrinks_its_type_before_it_takes_a_second_page() -> None:
    # at the largest type these steps take two pages
    long = "A step whose sentence is so long that it takes two lines in large type and one in small type"
    steps = tuple(Step(f"{long}, number {i}.", "litres", "common practice, no source") for i in range(18))
    sheet = _service_sheet.blank(MACHINE, PRODUCTS, DAY, METRIC)
    crowded = ServiceSheet(sheet.machine, sheet.job, sheet.made_on, sheet.cautions, sheet.rows, steps)
    assert service_sheet._drawn(crowded, service_sheet.SIZES[0]).page == 2
    assert "number 17." in text_of(crowded)


def test_the_day_is_the_one_that_was_given() -> None:
    assert datetime.date.fromisoformat(DAY)
    assert DAY in text_of(refill_sheet()[1])
