"""Starting the app as a person would, and a browser that tells what it asked for and complained about."""

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SIZES = {"phone": (390, 844), "tablet": (1024, 768), "desk": (1440, 900)}
FLUIDAPP = [sys.executable, "-m", "fluidapp"]
READY = "[data-testid=stApp][data-test-script-state=notRunning]"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("localhost", 0))
        return int(probe.getsockname()[1])


@contextlib.contextmanager
def app(*command: str, fluidapp: list[str] | None = None, cwd: Path | None = None, env: dict[str, str] | None = None) -> Iterator[str]:
    """The address of a started app; it is stopped by its own process group at the end."""
    port = free_port()
    line = [*(fluidapp or FLUIDAPP), *command, "--no-browser", "--port", str(port)]
    child = subprocess.Popen(
        line, cwd=cwd, env={**os.environ, **(env or {})}, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, start_new_session=True
    )
    base = f"http://localhost:{port}"
    try:
        for _ in range(240):
            if child.poll() is not None:
                raise RuntimeError(f"{line} ended: {child.stdout.read().decode() if child.stdout else ''}")
            with contextlib.suppress(OSError), urllib.request.urlopen(f"{base}/_stcore/health", timeout=2) as answer:
                if answer.read() == b"ok":
                    break
            time.sleep(0.25)
        else:
            raise RuntimeError(f"{line} did not answer within a minute")
        yield base
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child.pid, signal.SIGTERM)
        try:
            child.wait(10)
        except subprocess.TimeoutExpired:
            os.killpg(child.pid, signal.SIGKILL)
            child.wait(10)
        if child.stdout:
            child.stdout.close()


@dataclass
class Seen:
    """What a page asked for and complained about."""

    base: str
    outside: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def watch(self, page: Any) -> None:
        """Notes every request that leaves the machine and every console message that is not on the list."""
        page.on("request", lambda request: self._asked(request.url))
        page.on("console", lambda message: self._said(message.type, message.text, message.location.get("url", "")))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _asked(self, url: str) -> None:
        if not url.startswith((self.base, self.base.replace("http", "ws"), "data:", "blob:")):
            self.outside.append(url)

    def _said(self, kind: str, text: str, url: str) -> None:
        # the known ones: a deep link asks for two files below its own path first
        known = kind == "error" and "404" in text and url.endswith(("/_stcore/health", "/_stcore/host-config"))
        if kind in ("error", "warning") and not known:
            self.complaints.append(f"{kind}: {text} ({url})")


@contextlib.contextmanager
def browser() -> Iterator[Any]:
    """Debian's Chromium, headless."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        try:
            yield opened
        finally:
            opened.close()


def context(opened: Any, size: str = "phone", scheme: str = "light") -> Any:
    width, height = SIZES[size]
    return opened.new_context(
        viewport={"width": width, "height": height}, color_scheme=scheme, is_mobile=size == "phone", has_touch=size == "phone"
    )


def settled(page: Any) -> None:
    """Waits until the script has run."""
    page.wait_for_selector(READY, timeout=30_000)


def type_into(page: Any, label: str, text: str) -> None:
    """Types ``text`` into the box of that label and sends it."""
    box = page.get_by_label(label, exact=True)
    box.click()
    box.fill("")
    page.keyboard.type(text)
    page.keyboard.press("Enter")
    settled(page)


def choose(page: Any, label: str, option: str) -> None:
    """Chooses ``option`` in the select box of that label."""
    page.get_by_role("combobox", name=label).click()
    page.get_by_role("option", name=option, exact=True).click()
    settled(page)


def metric(page: Any) -> str:
    """The first answer on the screen."""
    page.get_by_test_id("stMetricValue").first.wait_for(timeout=30_000)
    return str(page.get_by_test_id("stMetricValue").first.inner_text())


def press(page: Any, name: str) -> None:
    """Presses the button of that name."""
    page.get_by_role("button", name=name, exact=True).first.click()
    settled(page)


def follow(page: Any, name: str) -> None:
    """Taps the link of that name at the foot of a screen."""
    page.get_by_test_id("stMain").get_by_role("link", name=name).first.click()
    settled(page)


def no_overflow(page: Any) -> bool:
    """Whether nothing reaches beyond the window."""
    return bool(page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"))


def faults(page: Any) -> list[str]:
    """What axe finds on the page, but in Streamlit's own list of pages: its items stand in a div inside the list (list, listitem).

    Left out too is Streamlit's own box that files are dropped on: its presentation role and its focus conflict.
    """
    from axe_playwright_python.sync_playwright import Axe

    streamlits = [["[data-testid=stSidebarNav]"], ["[data-testid=stFileUploaderDropzone]"]]
    found = Axe().run(page, context={"exclude": streamlits}).response["violations"]
    return [f"{v['id']}: {node['target']} {node['failureSummary']}" for v in found for node in v["nodes"]]


def press_until(page: Any, name: str, said: str) -> None:
    """Presses a button until the screen says so: a tap while it is drawn anew is lost, and a person taps again."""
    from playwright.sync_api import TimeoutError

    button, answer = page.get_by_role("button", name=name), page.get_by_text(said, exact=False).first
    for _ in range(4):
        if button.count():
            button.click()
        settled(page)
        try:
            answer.wait_for(timeout=4000)
        except TimeoutError:
            continue
        return
    raise AssertionError(said)
