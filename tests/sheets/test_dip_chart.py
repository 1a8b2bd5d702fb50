"""The dip chart and the blank level-check sheet as they are handed out: read back from the file."""

import csv
import io

import pypdf
import pytest

from fluidapp.calc import dipchart, figure, level, picture
from fluidapp.errors import BadInput
from fluidapp.model import Reading, typical
from fluidapp.sheets.dip_chart import dip_chart_csv, dip_chart_pdf, dip_chart_rows
from fluidapp.sheets.level_sheet import level_sheet_pdf, mark_rows

MACHINE = typical.machine("20 t excavator", "ex-1", "Excavator 1")
GAUGED = [c.key for c in MACHINE.compartments if c.gauges]
DATE = "2026-11-25"


def made(key="tank", step=None, machine=MACHINE):
    chart = dipchart.dip_chart(machine, key, step=step)
    part = machine.compartment(key)
    aim = part.gauge().bands[0].aim_mm
    return chart, dip_chart_pdf(chart, DATE, picture.tank(part, Reading(level=aim, position_ok=True), aim))


def pages(data):
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]


@pytest.mark.parametrize("key", GAUGED)
def test_it_is_one_page_with_every_number_its_doubt_and_its_marks(key):
    chart, data = made(key)
    (text,) = pages(data)
    words = text.split()
    for row in dip_chart_rows(chart)[1:]:
        assert all(cell in words for cell in row[:5]), row
    for expected in ("Excavator 1", chart.compartment, chart.gauge, DATE, "± L", "US gal", "target", "Machine level in both directions."):
        assert expected in text, expected


def test_the_caution_stands_before_the_first_figure_and_defers_to_the_manual():
    (text,) = pages(made()[1])
    assert text.index("maker's manual") < text.index("Reading in mm")
    assert "isolated" in text


def test_what_it_holds_for_is_on_it():
    (text,) = pages(made()[1])
    flat = " ".join(text.split())
    assert "teeth touch the ground" in flat
    assert "50 to 80 °C" in flat
    assert "Typical figures, not measured on this machine" in flat


def test_the_picture_names_the_marks_with_their_litres():
    (text,) = pages(made()[1])
    marks = level.marks(MACHINE.compartment("tank"))
    for name, litres in (("L", marks.low_l), ("target", marks.target_l), ("H", marks.high_l)):
        assert f"{name} {litres:.3g} L" in text


@pytest.mark.parametrize("step", [50.0, 10.0, 5.0, 4.0])
def test_it_stays_on_one_page_up_to_the_most_lines_that_fit(step):
    assert len(pages(made(step=step)[1])) == 1


def test_more_lines_than_fit_are_refused_with_a_step_that_does():
    with pytest.raises(BadInput, match=r"One card holds 132: choose at least 5 mm"):
        made(step=2.0)
    assert len(pages(made(step=5.0)[1])) == 1


def test_the_csv_has_the_chart_s_litres_a_point_and_the_units_in_its_head():
    chart, _ = made()
    rows = list(csv.DictReader(io.StringIO(dip_chart_csv(chart))))
    assert list(rows[0]) == ["level_mm", "level_in", "volume_l", "volume_us_gal", "plus_minus_95_l", "mark"]
    for row, of in zip(rows, chart.rows, strict=True):
        assert float(row["volume_l"]) == pytest.approx(of.volume_l, abs=5e-4)
        assert float(row["level_in"]) * 25.4 == pytest.approx(of.reading, abs=0.02)  # the inch is 25.4 mm by definition
        assert float(row["volume_us_gal"]) * 3.785411784 == pytest.approx(of.volume_l, abs=3e-3)  # 231 cubic inches
        assert float(row["plus_minus_95_l"]) == pytest.approx(figure.figure(of.volume_l, of.u_l, of.dof).half)
    assert [row["mark"] for row in rows if row["mark"]] == ["L", "target", "H"]


def test_the_blank_sheet_is_one_page_with_the_mark_table_of_every_gauge():
    data = level_sheet_pdf(MACHINE, DATE)
    (text,) = pages(data)
    for row in mark_rows(MACHINE):
        for cell in row.cells:
            assert cell in text, cell
    assert text.index("maker's manual") < text.index("hour meter")
    for column in ("date, time", "reading, unit", "oil temp.", "slope along / across", "posture ok", "by"):
        assert column in text


def test_the_mark_table_has_the_marks_and_the_litres_at_them():
    row = mark_rows(MACHINE)[0]
    assert row.readings == ("260 mm", "310 mm", "360 mm")
    # 600 x 550 mm with edges rounded by 30 mm: 0.33 L/mm less (4 - pi) 0.03^2 m2; zero 110 mm over the floor. By hand.
    area = 0.33 - (4 - 3.141592653589793) * 900e-6
    assert row.litres == tuple(f"{area * (110 + at):.3g} L" for at in (260, 310, 360))
    assert row.per_step == f"{area * 10:.3g} L"


def test_a_machine_with_many_gauges_still_fits():
    tank = MACHINE.compartment("tank")
    many = MACHINE.model_copy(
        update={"compartments": tuple(tank.model_copy(update={"key": f"tank-{k}", "label": f"Tank {k}"}) for k in range(14))}
    )
    assert len(pages(level_sheet_pdf(many, DATE))) == 1
