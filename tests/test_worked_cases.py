"""The worked cases of the guide: the program computes the digits that a reader finds with a pocket calculator."""

import math
import re
from pathlib import Path

import pytest

import fluidapp
from fluidapp.calc import gearcase, level, oil, refill
from fluidapp.model import Container, Cylinder, Product

GUIDE = (Path(fluidapp.__file__).parent / "guide" / "50-worked-cases.md").read_text(encoding="utf-8")
BOOM = Cylinder(name="boom", count=2, rod=85.0, stroke=1290.0, ref=390.0)
GEAR = Product(key="gear", label="gear oil", kind="oil", nu40=220.0, nu100=18.75, nu_source="measured new")
HYD = Product(key="hyd", label="hydraulic oil", kind="oil", nu40=46.0, nu100=6.65, nu_source="measured new")
HOSE, CASE = refill.hose(25.4, 2.5), refill.case()
PLAN = refill.refill(refill.Missing(20.0, 1.0), [CASE, HOSE], marks=refill.Marks(120.0, 140.0, 160.0))
PAIL = Container(label="20 L pail", volume_l=20.0)
BRING = refill.bring_list(refill.needs(PLAN, "hyd"), {"hyd": 3.0}, {"hyd": (PAIL,)}).items[0]
DRAINED = refill.gear_case(6.0)
USED = refill.used_oil(refill.Portion(DRAINED.value_l, DRAINED.u_l, math.inf, (DRAINED,)), 5.0)
BY_LEVEL = gearcase.check(GEAR, HYD, rise=gearcase.Rise(0.6, 0.05, 6.0))
BY_SAMPLE = gearcase.check(GEAR, HYD, samples=(gearcase.Sample(199.0),))


def section(title: str) -> str:
    found = re.search(rf"^## {re.escape(title)}\n(.*?)(?=^## |\Z)", GUIDE, re.M | re.S)
    assert found, title
    return found.group(1)


def vcf(temp_c: float, rho15: float = 870.0) -> float:
    return float(oil.vcf(rho15, temp_c))


def share(found: gearcase.GearCase) -> float:
    assert found.share.x is not None
    return found.share.x


CASES: dict[str, list[tuple[str, float, int]]] = {
    # section: (text with {} for the figure, the program's figure, decimals)
    "Read in the wrong posture": [("= {} L.", level.posture_l((BOOM,), {"boom": 1290.0}), 1)],
    "All rods in": [("= {} L.", -level.posture_l((BOOM,), {"boom": 0.0}), 1)],
    "Cold oil on the hot mark": [
        ("is {} at 20", vcf(20.0), 5),
        ("and {} at 80", vcf(80.0), 5),
        ("= {} L more", 250.0 * (vcf(20.0) / vcf(80.0) - 1), 1),
    ],
    "Refill: two numbers": [
        ("middle {} L", CASE.value_l, 2),
        ("√12 = {} L", CASE.u_l, 2),
        ("25 dm = {} L", HOSE.value_l, 2),
        ("20 + 1.75 = {} L", PLAN.before_start.value_l, 2),
        ("0.72²) = {} L", PLAN.before_start.u_l, 2),
        ("range is {} to", PLAN.before_start.low_l, 1),
        ("to {} L", PLAN.before_start.high_l, 1),
        ("hose's {} L", PLAN.after_running.value_l, 2),
    ],
    "Bring list": [
        ("1.27 = {} L", PLAN.total.value_l, 2),
        ("1 sigma is {} L", PLAN.total.half_l, 2),
        ("bring {} L", BRING.upper, 2),
        ("− 3 = {} L", BRING.bring, 2),
    ],
    "A cylinder fitted dry": [("12.90 dm = {} L", refill.cylinder(Cylinder(name="boom", bore=120.0, rod=85.0, stroke=1290.0)).value_l, 1)],
    "Rinse": [
        ("0.2 × 0.2 = {} %", 100 * oil.share_left(0.2, 2), 0),
        ("%: {} times", oil.rinse_cycles(0.2, 0.05), 0),
        ("6 × 0.8 = {} L", oil.rinse_litres(6.0, 0.2, 1), 1),
    ],
    "Used oil": [("= {} L.", USED.most_l, 2), ("hand: {} L", USED.over_l, 2), ("take {} empty pail", USED.pails, 0)],
    "First and next change": [
        ("7342 + 150 = {} h", refill.changes(7342.0, 150.0, 800.0)[0], 0),
        ("7492 + 800 = {} h", refill.changes(7342.0, 150.0, 800.0)[1], 0),
    ],
    "Hydraulic oil in gear oil, by the level": [
        ("= {} % hydraulic oil", 100 * share(BY_LEVEL), 1),
        ("W is {} for 220", float(oil.transform(220.0)), 5),
        ("and {} for 46", float(oil.transform(46.0)), 5),
        ("0.7: {} mm²/s", BY_LEVEL.mix[0].nu, 1),
        ("0.848: {} % thinner", -(BY_LEVEL.change.percent or 0.0) if BY_LEVEL.change else 0.0, 0),
    ],
    "Hydraulic oil in gear oil, by a sample": [
        ("W of 199 is {}.", float(oil.transform(199.0)), 5),
        ("0.0551: {} % hydraulic oil", 100 * share(BY_SAMPLE), 1),
        ("0.905: {} % thinner", -(BY_SAMPLE.change.percent or 0.0) if BY_SAMPLE.change else 0.0, 0),
    ],
    "A warm gearbox that looks like a gain": [
        ("is {} at 20", vcf(20.0, 895.0), 5),
        ("and {} at 60", vcf(60.0, 895.0), 5),
        ("= {} L more", 6.0 * (vcf(20.0, 895.0) / vcf(60.0, 895.0) - 1), 2),
    ],
}


@pytest.mark.parametrize("title", CASES)
def test_the_program_computes_the_digits_of_the_guide(title: str) -> None:
    text = section(title)
    for words, value, decimals in CASES[title]:
        assert words.format(f"{value:.{decimals}f}") in text, (words, value)


def test_the_gauge_before_the_surface_reads_low_by_the_digits_of_the_guide() -> None:
    # the lever rule of the sheet: offset times tangent, for a surface that cuts upright walls only; the demo's 20 t tank is one
    from fluidapp.store.demo import open_demo

    juniper = open_demo().machine("juniper")
    part = juniper.compartment("tank")
    litres = level.marks(part).target_l
    low = level.reading_at(part, litres, pitch_deg=3.0)
    fall = level.reading_at(part, litres) - low
    text = section("On a slope")
    assert f"= {fall:.1f} mm" in text
    per_mm = (level.reading_at(part, litres + 1.0) - level.reading_at(part, litres)) ** -1
    assert f"each mm.\n\n* tan 3° = {math.tan(math.radians(3)):.5f}" in text
    assert f"holds {per_mm:.3f} L" in text
    assert f"= {fall * per_mm:.1f} L would" in text


def test_kilograms_and_cost_are_those_of_the_guide() -> None:
    text = section("Kilograms and cost")
    assert f"= {26 * 870 / 1000:.1f} kg" in text
    assert f"= {26 * 3.10:.2f}." in text


def test_the_verdicts_are_those_of_the_guide() -> None:
    assert f"*{BY_LEVEL.verdict}*" in section("Hydraulic oil in gear oil, by the level")
    assert f"*{BY_SAMPLE.verdict}*" in section("Hydraulic oil in gear oil, by a sample")
    assert BRING.words in section("Bring list")
    for poured, word in ((22.5, "as expected"), (26.0, "more")):
        told = refill.against(PLAN.before_start, poured)
        assert told.word == word
        assert told.text.partition(". More")[0] in section("Poured against expected")


def test_every_section_is_tested() -> None:
    own = {"On a slope", "Kilograms and cost", "Poured against expected"}
    assert set(re.findall(r"^## (.+)$", GUIDE, re.M)) == set(CASES) | own
