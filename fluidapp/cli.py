"""The commands. Each answers as the screens do; a mistake is one sentence and exit code 2."""

import datetime
import os
import socket
import sys
from importlib.metadata import version as installed_version
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fluidapp.errors import FluidappError

if TYPE_CHECKING:
    from fluidapp.model import Bound
    from fluidapp.store import Store

APP = Path(__file__).parent / "app.py"
FLAGS = {
    "browser.gatherUsageStats": "false",
    "server.showEmailPrompt": "false",
    "server.fileWatcherType": "none",
    "client.toolbarMode": "minimal",
    "client.showErrorDetails": "type",
    "client.showErrorLinks": "false",
    "logger.hideWelcomeMessage": "true",
    "global.developmentMode": "false",
    "runner.postScriptGC": "false",
}
LAN_WARNING = "Anybody on this network can now read and write these records. Stop with Ctrl+C when you are done."


class _Commands(click.Group):
    """Turns every error that a person can cause into one sentence and exit code 2."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except FluidappError as err:
            click.echo(f"Error: {err}", err=True)
            ctx.exit(2)


@click.group(
    cls=_Commands,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Example: fluidapp --lan   (opens on your own records, for the phones on this network too)",
)
@click.option("--lan", is_flag=True, help="Let phones on this network open it; prints the address and a QR code.")
@click.option("--no-browser", is_flag=True, help="Start without opening a browser.")
@click.option("--port", type=click.IntRange(1, 65535), help="Port of the local web server.")
@click.version_option(installed_version("fluidapp"), "--version", prog_name="fluidapp")
@click.pass_context
def main(ctx: click.Context, lan: bool, no_browser: bool, port: int | None) -> None:
    """Fluids and lubricants of heavy mobile machines: litres from a reading, the top-up, where the oil went, what is due.

    Without a command it opens on your own records; FLUIDAPP_DB names another file or database.
    """
    if ctx.invoked_subcommand is None:
        from fluidapp.store import open_store

        open_store()  # a broken file is named here, not on the first screen
        _serve(lan, no_browser, port)


@main.command(epilog="Example: fluidapp demo --no-browser --port 8600")
@click.option("--lan", is_flag=True, help="Let phones on this network open it; prints the address and a QR code.")
@click.option("--no-browser", is_flag=True, help="Start without opening a browser.")
@click.option("--port", type=click.IntRange(1, 65535), help="Port of the local web server.")
def demo(lan: bool, no_browser: bool, port: int | None) -> None:
    """Open on a copy of an invented quarry; nothing you enter there touches your own records."""
    from fluidapp.store.demo import open_demo

    store = open_demo()
    os.environ["FLUIDAPP_DB"] = store.engine.url.render_as_string(hide_password=False)
    click.echo("Demo: a copy of an invented quarry. Your own records are not touched.")
    _serve(lan, no_browser, port)


@main.command("top-up", epilog='Example: fluidapp top-up MACHINE tank --reading "8 3/8 in" --temp "45 °C" --pail "20 L"')
@click.argument("machine")
@click.argument("compartment")
@click.option("--reading", required=True, help='Gauge reading with its unit, like "212 mm"; "below" or "above" where it is off the gauge.')
@click.option("--gauge", help="Which gauge, where there are several.")
@click.option("--temp", help='Oil temperature, like "45 °C".')
@click.option("--pitch", help="Slope along the machine in degrees, nose up > 0.")
@click.option("--roll", help="Slope across the machine in degrees, right side down > 0.")
@click.option("--reference-posture", is_flag=True, help="The machine stands in its reference posture.")
@click.option("--plug-in-position", is_flag=True, help="Level plug: the plug stands in its position.")
@click.option("--pail", multiple=True, help='Container at hand, like "20 L" or "5 US gal"; may be given several times.')
@click.option("--demo", "use_demo", is_flag=True, help="Ask the invented quarry instead of your own records.")
def top_up(
    machine: str,
    compartment: str,
    reading: str,
    gauge: str | None,
    temp: str | None,
    pitch: str | None,
    roll: str | None,
    reference_posture: bool,
    plug_in_position: bool,
    pail: tuple[str, ...],
    use_demo: bool,
) -> None:
    """Litres to the mark of COMPARTMENT on MACHINE, with their ± and in your containers. Nothing is recorded."""
    from fluidapp import units
    from fluidapp.calc import oil, topup
    from fluidapp.errors import BadInput, Unknown
    from fluidapp.model import Container, Reading
    from fluidapp.screens.words import top_up_lines

    store = _records(use_demo)
    found = store.machine(machine)
    part = found.compartment(compartment)
    scale = part.gauge(gauge)
    level, bound = _reading(reading, scale.kind)
    sizes = []
    for text in pail:
        litres = units.volume_l("--pail", text)
        if litres is None or litres <= 0:
            raise BadInput("--pail", text, "Give its size, like “20 L”.")
        sizes.append(Container(label=f"{text.strip()} pail", volume_l=litres))
    typed = Reading.made(
        gauge=scale.name,
        level=level,
        bound=bound,
        as_read=reading,
        temp_c=units.temperature_c("--temp", temp) if temp else None,
        pitch_deg=units.number("--pitch", pitch) if pitch else None,
        roll_deg=units.number("--roll", roll) if roll else None,
        posture="reference" if reference_posture else None,
        position_ok=plug_in_position or None,
    )
    try:
        product = store.product(part.product) if part.product else None
    except Unknown:
        product = None
    rho15 = product.rho15 if product and product.rho15 else oil.RHO15_TYPICAL
    answer = topup.answer(found, compartment, typed, tuple(sizes), rho15=rho15)
    for line in top_up_lines(found, part, answer):
        click.echo(line)


@main.command(epilog="Example: fluidapp load my-site   (a folder with site.toml, products.toml, machines/*.toml, readings.csv ...)")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--decimal-comma", is_flag=True, help="Numbers in the CSV files have a decimal comma.")
def load(folder: Path, decimal_comma: bool) -> None:
    """Read machines, products and records from a FOLDER of readable files into your records: all of them, or none."""
    from fluidapp.store import open_store
    from fluidapp.store.files import load_folder

    found = load_folder(open_store(), folder, now_utc=now(), decimal="comma" if decimal_comma else "point")
    click.echo(
        f"Read {found.machines} machines, {found.products} products, {found.guns} guns; "
        f"{found.entries} new entries, {found.already} were there already."
    )


def _reading(text: str, kind: str) -> "tuple[float | None, Bound]":
    from fluidapp import units
    from fluidapp.errors import BadInput

    word = text.strip().lower()
    if word in ("below", "dry"):
        return None, "at most"
    if word == "above":
        return None, "at least"
    level = units.number("--reading", word.removesuffix("%")) if kind == "percent" else units.length_mm("--reading", text)
    if level is None:
        raise BadInput("--reading", text, "Give the gauge reading, like “212 mm”.")
    return level, "exact"


def _records(use_demo: bool) -> "Store":
    if use_demo:
        from fluidapp.store.demo import open_demo

        return open_demo()
    from fluidapp.store import open_store

    return open_store()


def _serve(lan: bool, no_browser: bool, port: int | None) -> None:
    flags = dict(FLAGS)
    flags["server.headless"] = "true" if no_browser else "false"
    flags["server.address"] = "localhost"
    if port:
        flags["server.port"] = str(port)
    if lan:
        address = _lan_address()
        flags["server.address"] = address
        flags["browser.serverAddress"] = address
        flags["server.allowedHosts"] = f'["{address}"]'
        port = port or _free_port(address)
        flags["server.port"] = str(port)
        _show_address(f"http://{address}:{port}")
    from streamlit.web import cli as streamlit_cli

    sys.exit(streamlit_cli.main(["run", str(APP), *(f"--{name}={value}" for name, value in flags.items())], prog_name="streamlit"))


def _lan_address() -> str:
    """This machine's own address on its network: asked of the routing table, nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("10.255.255.255", 1))
            return str(probe.getsockname()[0])
        except OSError as err:
            raise click.ClickException("This machine is on no network that phones could use. Start without --lan.") from err


def _free_port(address: str, first: int = 8501) -> int:
    for port in range(first, first + 50):
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
            if probe.connect_ex((address, port)) != 0:
                return port
    return first


def _show_address(url: str) -> None:
    import segno

    click.echo(f"On a phone in this network open {url}")
    segno.make(url, micro=False).terminal(compact=True)
    click.echo(LAN_WARNING)


def now() -> datetime.datetime:
    """The command line's clock."""
    return datetime.datetime.now(datetime.UTC)
