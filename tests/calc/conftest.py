"""A machine with one compartment, from the text of its file."""

import pytest

BOX = 'body = { shape = "box", length = 1200, width = 700, height = 600 }'
GLASS = '{ name = "glass", kind = "sight glass", at = [1200, 200, 80], end_mm = 500, bands = [{ low = 150, high = 250 }] }'


@pytest.fixture(scope="session")
def one(machine_of):
    """``one(body=..., gauge=..., more=..., kind=..., machine=...)``: the machine "ex" with the compartment "tank"; all texts are TOML."""

    def make(body=BOX, gauge=GLASS, more="", kind="hydraulic tank", machine=""):
        return machine_of(
            f'key = "ex"\nlabel = "Excavator"\n{machine}\n[[compartments]]\nkey = "tank"\nlabel = "Tank"\nkind = "{kind}"\n'
            f'source = "taped"\ngauges = [{gauge}]\n{body}\n{more}\n'
        )

    return make
