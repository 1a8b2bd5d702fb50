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
    rho15 = oil.rho15_of(product)
    answer = topup.answer(found, compartment, typed, tuple(sizes), rho15=rho15)
    for line in top_up_lines(found, part, answer):
        click.echo(line)


@main.command(epilog="Example: fluidapp sheet MACHINE --blank --out machine.pdf")
@click.argument("machine")
@click.option("--blank", is_flag=True, help="Only compartments, products and marks; everything else stays empty.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="File to write; else MACHINE-service.pdf here.")
@click.option("--demo", "use_demo", is_flag=True, help="Ask the invented quarry instead of your own records.")
def sheet(machine: str, blank: bool, out: Path | None, use_demo: bool) -> None:
    """The service sheet of MACHINE as a PDF of one page, with what its last readings ask for. Nothing is recorded."""
    from fluidapp.errors import FileProblem
    from fluidapp.screens import _service_sheet
    from fluidapp.screens.words import METRIC
    from fluidapp.sheets.service_sheet import service_sheet_pdf

    store = _records(use_demo)
    found, here = store.machine(machine), store.site()
    products = {product.key: product for product in store.products()}
    day = here.today if here and here.today else now().astimezone().date().isoformat()
    if blank:
        made = _service_sheet.blank(found, products, day, METRIC)
    else:
        last = _service_sheet.last_readings({part.key: store.last_reading(machine, part.key) for part in found.compartments})
        made = _service_sheet.planned(found, products, last, day, METRIC)
    path = out or Path(f"{machine}-service.pdf")
    try:
        path.write_bytes(service_sheet_pdf(made))
    except OSError as err:
        raise FileProblem(str(path), "", err.strerror or "cannot be written", "Name a file that can be written.") from err
    click.echo(f"Service sheet of {found.label}: {path}")


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


@main.command(epilog="Example: fluidapp export my-site   (a new folder; `fluidapp load my-site` reads it back)")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--demo", "use_demo", is_flag=True, help="Write the invented quarry instead of your own records.")
def export(folder: Path, use_demo: bool) -> None:
    """Write everything in your records into a new FOLDER of readable files: TOML, and CSV that is safe to open."""
    from fluidapp.store.export import export_folder

    names = export_folder(_records(use_demo), folder)
    click.echo(f"Written: {folder}, {len(names)} files. It reads back with: fluidapp load {folder}")


@main.command(epilog="Example: fluidapp backup records-monday.db")
@click.argument("file", type=click.Path(path_type=Path))
def backup(file: Path) -> None:
    """Copy your records into a new FILE, also while they are in use."""
    from fluidapp.store import backup as kept
    from fluidapp.store import open_store

    click.echo(f"Written: {kept.backup(open_store(), file)}")


@main.command(epilog="Example: fluidapp restore records-monday.db --replace")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--replace", is_flag=True, help="Replace the records that are there; they are kept beside, under another name.")
def restore(file: Path, replace: bool) -> None:
    """Take the records of a backup FILE as your own, after checking it."""
    from fluidapp.store import backup as kept

    place, former = kept.restore(file, None, now(), replace=replace)
    click.echo(f"Restored: {place}" + (f". The former records are kept as {former}" if former else ""))


@main.command("dip-chart", epilog="Example: fluidapp dip-chart MACHINE tank --step 5mm --out tank.pdf")
@click.argument("machine")
@click.argument("compartment")
@click.option("--gauge", help="Which gauge, where there are several.")
@click.option("--step", help='Distance of the lines, like "5mm" or "1/4 in"; for a dial in %, like "5". Without it about 30 lines.')
@click.option(
    "--out", type=click.Path(path_type=Path), help="File to write: .pdf for a card, .csv for a table. Without it, the table here."
)
@click.option("--demo", "use_demo", is_flag=True, help="Ask the invented quarry instead of your own records.")
def dip_chart(machine: str, compartment: str, gauge: str | None, step: str | None, out: Path | None, use_demo: bool) -> None:
    """Millimetres to litres of COMPARTMENT on MACHINE, with ± and marks: a card for the cab, or a table."""
    from fluidapp import units
    from fluidapp.calc import dipchart, picture
    from fluidapp.errors import BadInput
    from fluidapp.sheets import dip_chart as sheet

    kind = _ending(out, ("pdf", "csv")) if out else ""
    found = _records(use_demo).machine(machine)
    part = found.compartment(compartment)
    scale = part.gauge(gauge)
    wide = None
    if step is not None:
        wide = units.number("--step", step.strip().removesuffix("%")) if scale.kind == "percent" else units.length_mm("--step", step)
        if wide is None:
            raise BadInput("--step", step, "Give a distance, like “5mm”.")
    chart = dipchart.dip_chart(found, compartment, scale.name, wide)
    if out is None:
        for line in [f"{chart.machine}, {chart.compartment}, {chart.gauge}", *sheet.dip_chart_notes(chart)]:
            click.echo(line)
        for row in sheet.dip_chart_rows(chart):
            click.echo("".join(f"{cell:>10}" for cell in row[:5]) + (f"   {row[5]}" if row[5] else ""))
        return
    if kind == "csv":
        _write(out, sheet.dip_chart_csv(chart).encode())
        return
    aim = scale.bands[0].aim_mm if scale.bands else (chart.rows[0].reading + chart.rows[-1].reading) / 2
    drawn = picture.tank(part, dipchart.as_asked(part, scale.name, aim), aim)
    _write(out, sheet.dip_chart_pdf(chart, f"{now():%Y-%m-%d}", drawn))


@main.command("level-sheet", epilog="Example: fluidapp level-sheet MACHINE --out level-check.pdf")
@click.argument("machine")
@click.option("--out", type=click.Path(path_type=Path), required=True, help="PDF file to write.")
@click.option("--demo", "use_demo", is_flag=True, help="Ask the invented quarry instead of your own records.")
def level_sheet(machine: str, out: Path, use_demo: bool) -> None:
    """A blank level-check sheet of MACHINE with its mark table, for days without a laptop."""
    from fluidapp.sheets.level_sheet import level_sheet_pdf

    _ending(out, ("pdf",))
    _write(out, level_sheet_pdf(_records(use_demo).machine(machine), f"{now():%Y-%m-%d}"))


def _ending(out: Path, known: tuple[str, ...]) -> str:
    from fluidapp.errors import BadInput

    ending = out.suffix.lower().removeprefix(".")
    if ending not in known:
        raise BadInput("--out", out.name, f"End the name with {' or '.join(f'.{name}' for name in known)}.")
    return ending


def _write(out: Path, data: bytes) -> None:
    from fluidapp.errors import FileProblem

    try:
        out.write_bytes(data)
    except OSError as err:
        raise FileProblem(str(out), "", f"it cannot be written ({err.strerror or err})", "Choose another folder.") from err
    click.echo(f"Written: {out}")


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
