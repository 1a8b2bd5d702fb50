"""Stories and the question guide on the Oil balance: ranked in words, ties shown, ruled out and why, answers that count."""

from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Machine, Product
from fluidapp.store import Store, kinds, open_store
from tests.screens.test_balance import DIGGER, START

Open = Callable[..., AppTest]
TANK, SLEW, BATH = (f"balance_digger_{part}" for part in ("tank", "slew", "bath"))


def texts(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.warning, *at.error))


def ways(at: AppTest) -> list[list[str]]:
    """Rows of the table of ways."""
    return next(t.value.to_numpy().tolist() for t in at.table if list(t.value.columns)[:2] == ["way", "weight"])


def typed(at: AppTest, **boxes: str) -> AppTest:
    for key, text in boxes.items():
        at.text_input(key=key).set_value(text)
    return at.run()


@pytest.fixture
def digger(tmp_path: Path) -> Store:
    store = open_store(tmp_path / "records.db")
    store.put(Machine.model_validate(DIGGER), Product(key="hyd", label="Hydraulic oil", kind="oil", rho15=875.0), now_utc=START)
    return store


@pytest.fixture
def at(digger: Store, open_empty: Open) -> AppTest:
    found = open_empty("balance", machine="digger")
    found.checkbox(key="balance_same").set_value(True)
    return found


@pytest.fixture
def into_gearbox(at: AppTest) -> AppTest:
    """The tank loses 5.6 L, the gearbox gains 5.4 L."""
    return typed(at, **{f"{TANK}_before": "300", f"{TANK}_now": "280", f"{SLEW}_before": "50", f"{SLEW}_now": "230"})


def test_the_leading_story_is_told_in_words_drawn_and_tabled(into_gearbox: AppTest) -> None:
    assert not into_gearbox.exception
    said = texts(into_gearbox)
    assert "Heaviest: **hydraulic tank → slewing gearbox**" in said
    first = ways(into_gearbox)[0]
    assert first[0].startswith("hydraulic tank → slewing gearbox: 5 ± ")
    assert first[1].endswith("%")
    assert "(1)" in first[2]  # two rows, one volume
    assert 0.05 <= float(first[3]) <= 1.0
    drawn = [c.proto.alt for c in into_gearbox.get("vega_lite_chart")]
    assert any("L from Hydraulic tank to Slewing gearbox" in text for text in drawn)
    assert "Where the oil would leave" not in said
    signs = next(t.value.to_numpy().tolist() for t in into_gearbox.table if list(t.value.columns) == ["where", "sign"])
    assert ["the slewing motor's shaft seal", signs[0][1]] == signs[0]


def test_ways_that_tie_stand_in_one_row_and_a_look_tells_them_apart(at: AppTest) -> None:
    """Tank alone: every way out of the tank ties (published table, row "only the tank was read")."""
    typed(at, **{f"{TANK}_before": "300", f"{TANK}_now": "270"})
    first = ways(at)[0]
    assert first[0].endswith("(tie)")
    assert first[3] == "not testable"
    said = texts(at)
    assert "Heaviest, several tie" in said
    assert "Cheapest check: read **" in said
    assert "Look at the gear oil: thin, or smelling of hydraulic oil" in said


def test_what_is_ruled_out_says_which_compartment_speaks_against_it(into_gearbox: AppTest) -> None:
    said = texts(into_gearbox)
    assert "Slewing gearbox should not have changed, it gained" in said


def test_the_largest_volume_is_a_visible_setting_that_changes_the_weights(at: AppTest) -> None:
    typed(at, **{f"{TANK}_before": "300", f"{TANK}_now": "288", f"{SLEW}_before": "100", f"{SLEW}_now": "100"})
    if not any("which" in str(block.value).lower() for block in at.header):
        typed(at, **{f"{TANK}_now": "284"})
    assert "each up to 20 L" in texts(at)

    def no_leak() -> int:
        return int(next((row[1] for row in ways(at) if row[0].startswith("no leak")), "0 %").split(" ")[0].strip("<"))

    wide = no_leak()
    typed(at, balance_fmax="5")
    assert "each up to 5 L" in texts(at)
    assert no_leak() < wide
    typed(at, balance_fmax="0")
    assert "most that one path may have carried" in at.error[0].value


def test_unwritten_pours_are_asked_for_first_and_an_answer_counts(at: AppTest) -> None:
    typed(at, **{f"{TANK}_before": "300", f"{TANK}_now": "300", f"{SLEW}_before": "100", f"{SLEW}_now": "190"})
    assert "water from outside → slewing gearbox; or a pour that nobody wrote down → slewing gearbox" in ways(at)[0][0]
    at.segmented_control(key="balance_digger_unwritten").set_value("no, asked").run()
    assert "nobody wrote down" not in ways(at)[0][0]
    at.segmented_control(key="balance_digger_unwritten").set_value("yes").run()
    assert "Enter it above under poured or drained" in texts(at)


def test_known_seepage_is_not_missing(at: AppTest) -> None:
    typed(at, **{f"{TANK}_before": "300", f"{TANK}_now": "290"})
    before = float(at.metric[0].value.split(" ±")[0])
    typed(at, balance_seepage="2")
    assert float(at.metric[0].value.split(" ±")[0]) == pytest.approx(before - 2.0, abs=0.6)


def test_litres_at_the_marks_warmth_stand_beside_those_at_15(at: AppTest) -> None:
    typed(at, **{f"{TANK}_before": "300", f"{TANK}_now": "255"})
    both = next(t.value.to_numpy().tolist() for t in at.table if "as for the marks" in t.value.columns)
    assert both[0][1].startswith("lost 1")
    assert both[0][2].startswith("lost 1")


def test_the_guide_asks_the_cheapest_first_and_may_stop(at: AppTest) -> None:
    at.segmented_control(key="balance_mode").set_value("Question guide").run()
    assert at.radio[0].label.startswith("1. Read in the same posture")
    at.radio[0].set_value("no").run()
    assert "correct for them or read again" in texts(at)
    assert not at.radio
    at.button(key="guide_back").click().run()
    at.radio[0].set_value("yes").run()
    assert at.radio[0].label.startswith("2. Has anybody poured")


def walk(at: AppTest, *answers: str) -> AppTest:
    at.segmented_control(key="balance_mode").set_value("Question guide").run()
    for answer in answers:
        at.radio[0].set_value(answer).run()
        assert not at.exception
    return at


def test_a_look_at_the_gear_oil_splits_the_tie_that_no_volume_can(at: AppTest) -> None:
    """T>B ties with T>G>B by volume; thin gear oil at its mark leaves the chain, thick oil the centre joint."""
    typed(at, **{f"{TANK}_before": "300", f"{TANK}_now": "260", f"{SLEW}_before": "100", f"{SLEW}_now": "100",
                 f"{BATH}_before": "20", f"{BATH}_now": "41"})  # fmt: skip
    assert "hydraulic tank → grease bath; or hydraulic tank → slewing gearbox → grease bath" in " ".join(row[0] for row in ways(at))
    walk(at, "yes", "no", "dry all round", "yes", "at or below, but thin")
    assert "answers of the question guide count here" in texts(at)
    assert ways(at)[0][0].startswith("hydraulic tank → slewing gearbox → grease bath")
    at.button(key="guide_back").click().run()
    at.radio[0].set_value("at the mark, thick").run()
    assert ways(at)[0][0].startswith("hydraulic tank → grease bath")
    assert "slewing gearbox" not in ways(at)[0][0]


def test_answers_are_stored_as_observations_once(at: AppTest, digger: Store) -> None:
    walk(at, "yes", "not looked", "dry all round", "yes", "above, thin")
    at.button(key="balance_save").click().run()
    assert not at.exception
    docs = [entry.doc for entry in digger.entries("digger", "observation")]
    assert all(isinstance(doc, kinds.Observation) for doc in docs)
    assert {(doc.node, doc.seen) for doc in docs} == {(None, "yes"), (None, "dry all round"), ("digger/slew", "above, thin")}
    at.run()
    assert "balance_save" not in [b.key for b in at.button]
