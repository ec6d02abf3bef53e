"""A real browser without a window, for tests of pages; None where none is installed."""

import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--allow-file-access-from-files", "--disable-dev-shm-usage",
)  # fmt: skip


def missing() -> str:
    """Why no browser can be driven; empty where one can."""
    for program in ("chromium", "chromedriver"):
        if shutil.which(program) is None:
            return f"no {program} is installed"
    try:
        import selenium  # noqa: F401
    except ImportError:
        return "selenium is not installed"
    return ""


@contextmanager
def opened(profile: Path, width: int = 1200, dark: bool = False) -> Iterator[Any]:
    """A driver with an empty profile, `width` pixels wide."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for flag in (*FLAGS, f"--user-data-dir={profile}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options, Service(shutil.which("chromedriver")))
    try:
        size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        wanted = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": wanted})
        yield driver
    finally:
        driver.quit()


def requests(driver: Any) -> list[str]:
    """Addresses asked for by the page, itself and data in it left out; the browser's own start page does not count."""
    events = [json.loads(entry["message"])["message"] for entry in driver.get_log("performance")]
    sent = [e["params"] for e in events if e["method"] == "Network.requestWillBeSent"]
    asked = [p["request"]["url"] for p in sent if p.get("documentURL", "").startswith("file:")]
    return [url for url in asked if not url.startswith(("data:", "blob:", "file:"))]


def checker() -> str:
    """The source of axe-core, an accessibility checker, from the file that HOTSIDE_AXE names; empty where there is none."""
    file = os.environ.get("HOTSIDE_AXE", "")
    return Path(file).read_text() if file else ""


CLIPPED = """return [...document.querySelectorAll('h1, h2, p, li, figcaption, .scroll')]
  .filter(e => e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML.slice(0, 80))"""
OPEN = "for (const one of document.querySelectorAll('details')) one.open = true"
CHECK = """const done = arguments[arguments.length - 1];
axe.run().then(found => done(found.violations.map(v => [v.impact, v.id, v.nodes[0].html.slice(0, 120)])))"""


def findings(driver: Any) -> list[list[str]]:
    """What axe-core finds on the open page with everything unfolded: impact, rule, the first place."""
    driver.execute_script(OPEN)
    driver.execute_script(checker())
    return list(driver.execute_async_script(CHECK))
