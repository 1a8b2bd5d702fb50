"""What files name must be there: keys, products, linked compartments, kinds of machines, folders. Nothing is stored otherwise."""

import pytest
from click.testing import CliRunner

from fluidapp import cli
from fluidapp.store.files import FilesProblem, load_files, read_folder

PRODUCTS = '[[product]]\nkey = "oil"\nlabel = "Oil"\nkind = "oil"\n'
DIGGER = """
key = "digger"
label = "Digger"
[[compartments]]
key = "slew"
label = "Slewing gearbox"
kind = "slewing gearbox"
product = "oil"
[[baths]]
key = "pan"
label = "Grease bath"
area_l_per_mm = 0.5
linked = ["slew"]
product = "grease"
[[grease_points]]
key = "pins"
label = "Pins"
kind = "pin"
limit_h = 50
product = "grease"
"""
GUN = '[[gun]]\nkey = "gun-z"\nlabel = "Gun"\nproduct = "grease"\n'
TRUCK = '[[truck]]\nkey = "lube"\nlabel = "Lube truck"\ncompartments = [{key = "a", label = "A", product = "oil", capacity_l = 400}]\n'
FILES = {"products.toml": PRODUCTS, "machines/digger.toml": DIGGER, "guns.toml": GUN, "trucks.toml": TRUCK}


def load(store, make, files):
    return load_files(store, {name: text.encode() for name, text in files.items()}, now_utc=make.now)


def test_names_lead_to_the_files_and_to_the_records(store, make):
    # “grease” is in the records already, “oil” comes with the files
    assert load(store, make, FILES).machines == 1


@pytest.mark.parametrize(
    ("file", "was", "becomes", "where", "problem", "fix"),
    [
        (
            "machines/digger.toml",
            'product = "oil"',
            'product = "oli"',
            "“digger”, compartments › “slew” › product",
            "“oli” is not known",
            "oil",
        ),
        (
            "machines/digger.toml",
            'linked = ["slew"]',
            'linked = ["slow"]',
            "“digger”, baths › “pan” › linked",
            "“slow” is not known",
            "slew",
        ),
        (
            "machines/digger.toml",
            'product = "grease"\n[[',
            'product = "gris"\n[[',
            "“digger”, baths › “pan” › product",
            "“gris” is not",
            "grease",
        ),
        (
            "machines/digger.toml",
            'limit_h = 50\nproduct = "grease"',
            'limit_h = 50\nproduct = "g"',
            "› “pins” › product",
            "“g” is not",
            "grease",
        ),
        (
            "machines/digger.toml",
            'label = "Digger"',
            'label = "Digger"\nkind = "excavater"',
            "“digger”, kind",
            "“excavater” is not",
            "excavator",
        ),
        ("guns.toml", "grease", "gease", "“gun-z”, product", "“gease” is not known", "grease"),
        ("trucks.toml", '"oil"', '"oyl"', "“lube”, compartments › “a” › product", "“oyl” is not known", "oil"),
        (
            "trucks.toml",
            'key = "lube"',
            'key = "oil"',
            "“oil”, key",
            "this key is that of the product “Oil” in products.toml",
            "another key",
        ),
    ],
)
def test_a_name_that_leads_nowhere_is_named_with_what_is_known(store, make, file, was, becomes, where, problem, fix):
    assert was in FILES[file]
    with pytest.raises(FilesProblem) as caught:
        load(store, make, {**FILES, file: FILES[file].replace(was, becomes)})
    (found,) = caught.value.problems
    assert found.file == file
    assert where in found.where
    assert problem in found.problem
    assert fix in found.fix
    assert "oil" not in [product.key for product in store.products()]


def test_a_machine_that_stands_in_two_files_is_named_with_both(store, make):
    with pytest.raises(
        FilesProblem, match=r"machines/two\.toml, “digger”, key: this key is that of the machine “Digger” in machines/digger"
    ):
        load(store, make, {**FILES, "machines/two.toml": DIGGER.replace('label = "Digger"', 'label = "The other"')})


def test_a_kind_of_machine_that_is_new_is_no_slip(store, make):
    other = DIGGER.replace('label = "Digger"', 'label = "Digger"\nkind = "pipe layer"')
    assert load(store, make, {**FILES, "machines/digger.toml": other}).machines == 1


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("machine/digger.toml", "the folder “machine” is not read"),
        ("readings/readings.csv", "the folder “readings” is not read"),
        ("machines/old/digger.toml", "it is not read there"),
        ("machines/readings.csv", "it is not read there"),
        ("READINGS.CSV", "files that end in .CSV are not read"),
        ("readings.xlsx", "files that end in .xlsx are not read"),
    ],
)
def test_a_table_that_would_be_passed_over_is_named(tmp_path, name, said):
    (tmp_path / "products.toml").write_text(PRODUCTS)
    (tmp_path / name).parent.mkdir(exist_ok=True, parents=True)
    (tmp_path / name).write_text("x")
    with pytest.raises(FilesProblem) as caught:
        read_folder(tmp_path)
    assert str(caught.value).startswith(f"{name}: {said}.")


def test_what_is_no_table_may_lie_beside_it(tmp_path):
    (tmp_path / "products.toml").write_text(PRODUCTS)
    for name in ("README.md", "photos/tank.jpg", ".git/config.toml"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("x")
    assert list(read_folder(tmp_path)) == ["products.toml"]


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("machines/digger.toml", DIGGER, "compartments › “slew” › product: “oil” is not known"),
        ("machine/digger.toml", DIGGER, "the folder “machine” is not read"),
        ("products.toml", PRODUCTS + PRODUCTS, "this key is that of the product “Oil” in products.toml already"),
    ],
)
def test_the_command_ends_with_2_and_says_which(tmp_path, monkeypatch, name, text, said):
    monkeypatch.setenv("FLUIDAPP_DB", str(tmp_path / "records.db"))
    folder = tmp_path / "site"
    (folder / name).parent.mkdir(parents=True)
    (folder / name).write_text(text)
    found = CliRunner().invoke(cli.main, ["load", str(folder)])
    assert found.exit_code == 2
    assert said in found.output
    assert name in found.output
