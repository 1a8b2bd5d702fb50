"""Grease bath, folded away: laboratory, free oil at the drain, tank and gearbox as a ceiling; combined, or the disagreement named."""

from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Bath, Compartment, Machine
from fluidapp.model.typical import machine as typical
from fluidapp.store import Store, kinds, open_store
from tests.screens.test_bath import BATH, START

Open = Callable[..., AppTest]
KEY = "bath_digger_bath"


def gearbox() -> Compartment:
    return typical("20 t excavator", "x", "X").compartment("slew-gearbox")


@pytest.fixture
def digger(tmp_path: Path) -> Store:
    store = open_store(tmp_path / "records.db")
    bath = Bath.model_validate(BATH.model_dump(exclude_unset=True) | {"linked": ("slew-gearbox",)})
    store.put(Machine(key="digger", label="Digger", compartments=(gearbox(),), baths=(bath,)), now_utc=START)
    return store


@pytest.fixture
def at(digger: Store, open_empty: Open) -> AppTest:
    return open_empty("bath", machine="digger")


def typed(at: AppTest, **boxes: str) -> AppTest:
    for name, text in boxes.items():
        at.text_input(key=f"{KEY}_{name}").set_value(text)
    return at.run()


def depths(at: AppTest, *texts: str) -> AppTest:
    return typed(at, **{f"depth_{i}": text for i, text in enumerate(texts, 1)})


def texts(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.warning, *at.error))


def methods(at: AppTest) -> dict[str, str]:
    return {row[0]: row[1] for t in at.table if "method" in t.value.columns for row in t.value.to_numpy().tolist()}


def test_nothing_of_it_shows_before_it_is_entered(at: AppTest) -> None:
    depths(at, "25", "25", "25", "25")
    assert not at.exception
    assert methods(at) == {}
    assert "together" not in texts(at)


def test_a_tracer_gives_its_share(at: AppTest) -> None:
    """20, 400 and 96 ppm, each ± 8 %: 0.200 ± 0.027 (computed by us), 95 % half-width 5.4 %."""
    depths(at, "25", "25", "25", "25")
    typed(at, tracer_clean="20", tracer_oil="400", tracer_sample="96")
    assert methods(at)["tracer"] == "share 20 ± 6 %"
    assert methods(at)["level rise"].startswith("share 20 ± ")
    assert "From level rise and tracer together: **" in texts(at)
    assert "Sampling error not included" in texts(at)


def test_all_four_agree_and_are_combined_narrower_than_each(at: AppTest) -> None:
    depths(at, "25", "25", "25", "25")
    typed(at, tracer_clean="20", tracer_oil="400", tracer_sample="96", thickener_clean="10", thickener_sample="8",
          nu_clean="460", nu_oil="46", nu_sample="260", sampling="1")  # fmt: skip
    assert set(methods(at)) == {"level rise", "tracer", "viscosity", "thickener"}
    said = texts(at)
    assert "together: **" in said
    half = float(said.split("together: **")[1].split(" ± ")[1].split(" ")[0])
    assert half < float(methods(at)["tracer"].split(" ± ")[1].split(" ")[0])
    assert "Sampling error not included" not in said


def test_methods_that_disagree_are_named_and_not_averaged(at: AppTest) -> None:
    depths(at, "25", "25", "25", "25")
    typed(at, tracer_clean="20", tracer_oil="400", tracer_sample="220")
    said = texts(at)
    assert "**The methods disagree and are not averaged**" in said
    assert "together: **" not in said
    assert "Mass shares: level rise 0.2" in said


def test_a_missing_figure_and_an_element_that_the_grease_holds_too_are_refused_by_name(at: AppTest) -> None:
    depths(at, "25", "25", "25", "25")
    typed(at, tracer_clean="380", tracer_oil="400", tracer_sample="390", thickener_sample="8")
    assert methods(at)["tracer"] == "not used: the grease holds about as much of this element as the oil: choose another"
    assert methods(at)["thickener"] == "not used: clean grease of the same batch and the sample must both be measured"


def test_penetration_is_only_an_upper_bound(at: AppTest) -> None:
    """280 to 325: at most about 0.211 (computed by us), printed to the step below its ±."""
    depths(at, "25", "25", "25", "25")
    typed(at, penetration_clean="280", penetration_sample="325")
    assert methods(at)["penetration"] == "at most 20 ± 6 %"
    at.segmented_control(key=f"{KEY}_water").set_value("seen").run()
    assert methods(at)["penetration"] == "not used: water was seen, which softens too"


def test_free_oil_at_the_drain_is_a_lower_bound(at: AppTest) -> None:
    depths(at, "25", "25", "25", "25")
    typed(at, caught="6")
    assert methods(at)["drained free oil"].startswith("at least 30 ± ")
    assert "below the least that drained free oil shows" in texts(at)


def test_tank_and_gearbox_are_a_ceiling_and_refuse_where_one_was_not_read(at: AppTest) -> None:
    depths(at, "25", "25", "25", "25")
    typed(at, tank_lost="1")
    assert "a gearbox linked to this bath was not read" in methods(at)["gearbox ceiling"]
    typed(at, **{"slew-gearbox_lost": "-1"})
    assert methods(at)["gearbox ceiling"].startswith("at most 0 ± ")
    typed(at, tank_lost="6", **{"slew-gearbox_lost": "0"})
    assert methods(at)["gearbox ceiling"].startswith("at most 6 ± ")
    assert "more than tank and gearboxes could have given" not in texts(at)
    depths(at, "45", "45", "45", "45")
    assert "more than tank and gearboxes could have given" in texts(at)


def test_a_slip_is_one_sentence(at: AppTest) -> None:
    depths(at, "25")
    typed(at, tracer_clean="x")
    assert "Tracer, clean grease" in at.error[0].value


def test_the_report_is_stored_with_the_survey_each_figure_with_its_unit(at: AppTest, digger: Store) -> None:
    depths(at, "25", "25", "25", "25")
    typed(at, tracer_clean="20", tracer_oil="400", tracer_sample="96", laboratory="bottle 7", caught="0,5")
    at.button(key="bath_save").click().run()
    assert not at.exception
    doc = digger.entries("digger", "lab result")[0].doc
    assert isinstance(doc, kinds.LabResult)
    assert doc.laboratory == "bottle 7"
    assert doc.values == {"Tracer, clean grease": 20.0, "Tracer, oil": 400.0, "Tracer, sample": 96.0}
    assert set(doc.units.values()) == {"ppm"}
    survey = digger.entries("digger", "reading")[0].doc
    assert isinstance(survey, kinds.LevelReading)
    assert survey.free_oil_l == 0.5
