"""Lines broken on purpose: the named test must fail, else it guards nothing.

The package and its tests are copied, one line of the copy is changed, and the named tests run on the copy. A few breaks run
always, the whole list with --long. A break of your own: file, what stands there once, what it becomes, the tests that must notice.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

# (file, was, becomes, tests, a part of their names or "")
SHORT = [
    ("calc/reader.py", "litres(shown + share * by", "litres(shown + 0 * share * by", "test_budget.py", "does_not_vanish"),
    ("calc/gauge.py", "-LEVEL", "LEVEL", "test_gauge.py", "counts_downwards"),
    ("calc/figure.py", "math.ceil(digits", "math.floor(digits", "test_figure.py", "by_hand"),
    ("calc/budget.py", "(shown - cylinder.ref)", "shown", "test_level.py", "reference_posture"),
]
LONG = [
    ("calc/figure.py", "s < digits - 1e-9", "s <= digits + 1", "test_figure.py", "half_a_step"),
    ("calc/figure.py", "if dof > 30", "if dof > 3", "test_figure.py", "factor"),
    ("calc/figure.py", "(1 + p) / 2", "p", "test_figure.py", "factor"),
    ("calc/figure.py", "if down else round", "if not down else round", "test_topup.py", "dry_gauge"),
    ("calc/figure.py", "if size < 2:", "if size <= 2:", "test_figure.py", "step_of_a_pour"),
    ("calc/gauge.py", "math.sin(lean) * math.cos(toward)", "math.sin(lean)", "test_gauge.py", "wetted"),
    ("calc/gauge.py", "c_dm - n @ point", "c_dm + n @ point", "test_gauge.py", "comes_back"),
    ("calc/gauge.py", "math.sqrt(12.0)", "math.sqrt(3.0)", "test_gauge.py", "doubt_of_one"),
    ("calc/gauge.py", "reading_mm < gauge.start_mm", "reading_mm < gauge.start_mm - 10", "test_gauge.py", "cannot_show"),
    ("calc/reader.py", '"at most") != isinstance', '"at most") == isinstance', "test_level.py", "bound or plug"),
    ("calc/reader.py", "and not reading.position_ok", "and reading.position_ok is False", "test_level.py", "tick"),
    ("calc/reader.py", "return max(_to_the_edge", "return min(_to_the_edge", "test_budget.py", "larger_change or one_way"),
    ("calc/reader.py", "for _ in range(30)", "for _ in range(1)", "test_budget.py", "very_edge or out_of_the_tank"),
    ("calc/level.py", 'swing_deg if compartment.on == "upper structure" else 0.0)', "0.0)", "test_topup.py", "reading_to_expect"),
    ("calc/level.py", "as_read + ran_out + shift + rods", "as_read + ran_out + shift - rods", "test_level.py", "reference_posture"),
    ("calc/level.py", "low, high = high, low", "low, high = low, high", "test_level.py", "marks"),
    ("calc/bands.py", "for g in (own, *compartment.gauges)", "for g in (own,)", "test_level.py", "another_gauge"),
    ("calc/bands.py", "key=lambda b: _away_k(b, temp_c)", "key=lambda b: 0", "test_bands.py", "nearest or overlap"),
    ("calc/bands.py", "and not reading.shown_mm", "and True", "test_bands.py", "another_posture"),
    ("calc/budget.py", "half / math.sqrt(3.0)), half)", "half / math.sqrt(3.0)), 0.0)", "test_bands.py", "reaches_to_the_other"),
    ("calc/budget.py", "math.hypot(u_l, half / math.sqrt(3.0))", "u_l", "test_bands.py", "as_a_rectangle"),
    ("calc/budget.py", "rods_l / 3.0", "rods_l * doubts.posture_share", "test_budget.py", "without_a_cylinder"),
    ("calc/topup.py", "temp_unmeasured_k, farthest)", "temp_unmeasured_k, 0.0)", "test_bands.py", "targets_of_the_other"),
    ("calc/between.py", "doubts=doubts, band=band)", "doubts=doubts)", "test_bands.py", "same_marks"),
    ("calc/watch/points.py", "None, band=band)", "None)", "test_bands.py", "same_marks"),
    ("calc/level.py", "if (pitch or roll) and _air", "if _air", "test_level.py", "low_roof"),
    ("calc/budget.py", "oil.vcf(rho15, mark_c) - 1 / oil.vcf", "oil.vcf(rho15, mark_c) + 1 / oil.vcf", "test_level.py", "warms or grows"),
    ("calc/budget.py", "return in_tank_l, True", "return 2 * in_tank_l, True", "test_level.py", "gear_case"),
    ("calc/budget.py", "(1 / 12 + (0.5", "(1 / 12 + 0 * (0.5", "test_budget.py", "anywhere_in_its_stroke"),
    ("calc/budget.py", "0.25 * math.sqrt(per_mm * 1e6)", "0.25 * math.sqrt(per_mm * 1e4)", "test_budget.py", "kind_of_gauge"),
    ("calc/budget.py", "doubts.temp_unmeasured_k", "doubts.temp_measured_k", "test_budget.py", "15_kelvin or shrinks"),
    ("calc/decision.py", "if chi2 > len(rows) - 1 > 0", "if len(rows) - 1 > 0", "test_build.py", "pour"),
    ("calc/decision.py", "chi2 / (len(rows) - 1)), float(", "chi2 / (len(rows) - 1)), 1000.0 * float(", "test_build.py", "scatter"),
    ("calc/geometry/pouring.py", "if self.chi2 > self.dof > 0", "if False", "test_build.py", "one_chain"),
    ("calc/build.py", "math.sqrt(2.0) * gauges", "gauges", "test_build.py", "doubt_of_a_pour or free_surface"),
    ("calc/build.py", "(rise > 0) != (pour.add > 0)", "False", "test_build.py", "swapped"),
    ("calc/build.py", "u_anchor = 0.03 * anchor", "u_anchor = 0.0 * anchor", "test_build.py", "known_fill"),
    ("calc/topup.py", "add = target_l - volume.value_l", "add = target_l - volume.as_read_l", "test_topup.py", "random"),
    ("calc/topup.py", 'if line.name != "tank"', "if True", "test_topup.py", "share"),
    ("calc/topup.py", "key=lambda c: -c.volume_l", "key=lambda c: c.volume_l", "test_topup.py", "pails"),
    ("calc/topup.py", "rest -= count * container.volume_l", "rest -= container.volume_l", "test_topup.py", "add_up"),
    ("calc/topup.py", "found.add_l - CLAIM * found.u_l > usual", "found.add_l > usual", "test_topup.py", "usual"),
    ("calc/topup.py", "pour = 0.0\n", "pass\n", "test_topup.py", "above_the_gauge"),
    ("calc/overfill.py", "if self.rods_in_l > self.brim_l", "if self.reference_l > self.brim_l", "test_topup.py", "rods_in"),
    ("units.py", '"imp gal": "imperial_gallon"', '"imp gal": "US_liquid_gallon"', "test_units.py", "definition"),
    ("units.py", "if _THOUSANDS.fullmatch(text)", "if False", "test_units.py", "thousands"),
    ("units.py", "if not np.all(finite)", "if np.any(np.isnan(values))", "test_units.py", "finite"),
    ("errors.py", "super().__init__(field, value, fix)", "super().__init__(fix)", "test_errors.py", "survives"),
    ("model/base.py", 'extra="forbid"', 'extra="ignore"', "test_model.py", "names_file"),
    ("model/base.py", "Num = Annotated[float, Strict()]", "Num = Annotated[float, Field()]", "test_model.py", "usable"),
    ("model/compartments.py", "self.rod >= self.bore", "self.rod > 2 * self.bore", "test_model.py", "names_file"),
    ("model/gauges.py", "self.high <= self.low", "self.high < self.low", "test_model.py", "names_file"),
    ("calc/consumption/review.py", "CAP * limit[series]", "9 * limit[series]", "test_review.py", "burst"),
    ("calc/consumption/review.py", "np.maximum(few, seen.change - first)", "few", "test_review.py", "plain_loops"),
    ("calc/consumption/review.py", "np.maximum.at(last, of, again)", "pass", "test_review.py", "restart"),
    ("calc/consumption/series.py", "sure[1:] & ~np.isnan(used[1:])", "sure[1:]", "test_review.py", "planned_change"),
    ("calc/consumption/series.py", "last[:-1] |= meters[1:] != meters[:-1]", "pass", "test_review.py", "new_meter"),
    ("calc/consumption/cusum.py", "np.minimum(low, 0.0, out=low)", "pass", "test_charts_and_counts.py", "handbook or plain_loop"),
    ("calc/consumption/tuned.py", "LUMPS = 12.0", "LUMPS = 1.0", "test_review.py", "plain_loops"),
    ("calc/consumption/rates.py", "np.maximum.at(worked, pair", "np.add.at(worked, pair", "test_rates_and_flows.py", "machine"),
    ("calc/stock/reorder.py", "betainc(a, units + 1", "betainc(a, units", "test_reorder.py", "reorder_point"),
    ("calc/stock/onhand.py", "-np.ones(len(out))", "np.ones(len(out))", "test_stock.py", "on_hand"),
    ("calc/stock/ahead.py", "share * (1.0 - share) * one.litres**2", "0", "test_stock.py", "ahead"),
    ("calc/due/looks.py", "grown >= -ROUNDING_H", "grown >= -1e9", "test_meter.py", "backwards or typing_error"),
    ("calc/due/looks.py", "if days >= STUCK_WORKING_DAYS", "if days >= 1", "test_meter.py", "two_working_days"),
    ("calc/due/meter.py", "missed = max(0.0, rate", "missed = 0.0 * max(0.0, rate", "test_meter.py", "hours_missed"),
    ("calc/due/meter.py", "in self.shifts if day >= from_day", "in self.shifts if False", "test_meter.py", "hours_missed"),
    ("calc/due/projection.py", "weeks + weeks**2 / known.span", "weeks", "test_projection.py", "sum_of_weeks or standard_deviation"),
    ("calc/due/projection.py", "/ (n - 1)) if n > 1", "/ n) if n > 1", "test_projection.py", "sum_of_weeks"),
    ("calc/due/projection.py", "x[0] <= WINDOW_DAYS or", "True or", "test_projection.py", "120_days"),
    ("calc/due/rule.py", "and left_days < 0", "and left_days <= 0", "test_rule.py", "due_today"),
    ("calc/due/rule.py", "max(found.day, meter.today)", "found.day", "test_rule.py", "since_the_last_look"),
    ("calc/due/rule.py", "min(by_hours.day, by_calendar)", "max(by_hours.day, by_calendar)", "test_rule.py", "whichever"),
    ("calc/due/history.py", "if changed.has_first or mine", "if True", "test_due_list.py", "begins_nothing"),
    ("calc/due/history.py", "rule = changed", "rule = task", "test_due_list.py", "brings_its_intervals"),
    ("calc/due/answer.py", "float(known.by_hours.max())", "float(known.by_hours.min())", "test_due_list.py", "waited_longest"),
    ("calc/used_oil.py", "before + amount", "amount", "test_used_oil.py", "add_up"),
    ("calc/used_oil.py", 'or compartment_kind == "coolant"', 'or False', "test_used_oil.py", "no_used_oil"),
    ("calc/between.py", "check_litres(part, litres, field, FILLS)", "pass", "test_between.py", "ten_fills"),
    ("calc/bath/answer.py", "    fits(bath, after, before)\n", "", "test_bath_answer.py", "no_bath_has"),
    ("model/holds.py", "litres > most * fills:", "litres > 100 * most * fills:", "test_model_holds.py", "9999"),
    ("model/holds.py", "if part.kind == \"hydraulic tank\" and caps.system_l is None", "if False", "test_model_holds.py", "bounded"),
    ("model/holds.py", "depth or diameter / 2", "0.0", "test_model_holds.py", "box_round"),
    ("model/holds.py", "gun.g_per_min / 60.0", "gun.g_per_min", "test_model_holds.py", "ten_caps"),
    ("store/read.py", "schema.shot.c.point == part, m.c.key == owner", "schema.shot.c.point == owner", "test_history.py", "choose"),
    ("store/read.py", "s.c.by_name == self.by", "s.c.by_name != self.by", "test_history.py", "choose"),
    ("store/read.py", ".limit(limit).offset(offset)", ".limit(limit)", "test_history.py", "pages"),
    ("store/checks.py", "for depth in doc.depths_mm or", "for depth in ()  and", "test_history.py", "nonsense"),
]  # fmt: skip


THE_COPY_RUNS = """
import pathlib
import fluidapp
assert pathlib.Path(fluidapp.__file__).parents[1] == pathlib.Path(__file__).parent, fluidapp.__file__
"""


class Copy:
    """The package and its tests in a folder of their own, which Python looks into first."""

    def __init__(self, root: Path, folder: Path) -> None:
        self.folder = folder
        unwanted = shutil.ignore_patterns("__pycache__", "browser", "*.db")
        for name in ("fluidapp", "tests"):
            shutil.copytree(root / name, folder / name, ignore=unwanted)
        shutil.copy(root / "pyproject.toml", folder)
        (folder / "conftest.py").write_text(THE_COPY_RUNS, encoding="utf-8")

    def tests(self, files: set[str], names: str) -> subprocess.CompletedProcess[str]:
        env = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST_", "COV_"))}
        env |= {"PYTHONPATH": str(self.folder), "PYTHONDONTWRITEBYTECODE": "1", "EXAMPLES": "brief"}
        paths = [str(path) for file in sorted(files) for path in self.folder.glob(f"tests/**/{file}")]
        assert len(paths) == len(files)
        options = [
            "-o",
            "addopts=--import-mode=importlib",
            "-x",
            "-q",
            *(f"-pno:{name}" for name in ("cacheprovider", "xdist", "playwright")),
        ]
        command = [sys.executable, "-m", "pytest", *options, *paths, "-k", names]
        return subprocess.run(command, cwd=self.folder, env=env, capture_output=True, text=True, check=False, timeout=300)


@pytest.fixture(scope="module")
def copy(root, tmp_path_factory) -> Copy:
    return Copy(root, tmp_path_factory.mktemp("copy"))


def unbroken(copy: Copy, breaks: list[tuple[str, ...]]) -> None:
    found = copy.tests({b[3] for b in breaks}, " or ".join(f"({b[4]})" for b in breaks))
    assert found.returncode == 0, found.stdout + found.stderr


def broken(copy: Copy, file: str, was: str, becomes: str, test: str, names: str) -> None:
    path = copy.folder / "fluidapp" / file
    source = path.read_text(encoding="utf-8")
    assert source.count(was) == 1, f"{file} has {source.count(was)} of: {was}"
    path.write_text(source.replace(was, becomes), encoding="utf-8")
    try:
        found = copy.tests({test}, names)
    finally:
        path.write_text(source, encoding="utf-8")
    assert found.returncode == 1, found.stdout + found.stderr  # 1: a test failed; 2 and more: nothing ran


def test_unbroken_the_tests_of_the_short_list_pass(copy):
    unbroken(copy, SHORT)


@pytest.mark.parametrize("line", SHORT, ids=lambda b: f"{b[0]}: {b[2]}")
def test_a_broken_line_is_noticed(copy, line):
    broken(copy, *line)


@pytest.mark.parametrize("line", SHORT + LONG, ids=lambda b: f"{b[0]}: {b[1]}")
def test_every_line_of_the_lists_still_stands_once_in_its_file(root, line):
    file, was, becomes = line[:3]
    assert (root / "fluidapp" / file).read_text(encoding="utf-8").count(was) == 1
    assert was != becomes


@pytest.mark.slow
def test_unbroken_the_tests_of_the_long_list_pass(copy):
    unbroken(copy, LONG)


@pytest.mark.slow
@pytest.mark.parametrize("line", LONG, ids=lambda b: f"{b[0]}: {b[2]}")
def test_every_broken_line_is_noticed(copy, line):
    broken(copy, *line)
