"""A real browser without a window, for tests of pages, and the checker that reads them for who sees, hears or moves otherwise."""

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


def unchecked() -> str:
    """Why no page can be checked with axe-core, an accessibility checker; empty where one can."""
    if missing():
        return missing()
    file = os.environ.get("HOTSIDE_AXE", "")
    if not file:
        return "HOTSIDE_AXE names no axe.min.js (npm install axe-core): pages are not checked for accessibility"
    return "" if Path(file).is_file() else f"HOTSIDE_AXE names {file}, which is no file"


CLIPPED = """return [...document.querySelectorAll('h1, h2, p, li, figcaption, .scroll')]
  .filter(e => e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML.slice(0, 80))"""
READY = "return [...document.querySelectorAll('.picture')].every(p => p.querySelector('.main-svg'))"
# words of a picture that cover one another or are cut off by its edge; slanted ones, whose frames say little, left out
COVERED = """const found = [];
for (const picture of document.querySelectorAll('.picture')) {
  const edge = picture.getBoundingClientRect();
  const texts = [...picture.querySelectorAll('.xtick text, .ytick text, .g-xtitle text, .g-ytitle text, [class*="-title"] text, .legendtext, .annotation-text, .cbaxis text')]
    .filter(t => t.textContent.trim() && !/rotate\\((?!-?90[,)]|-?0[,)])/.test((t.getAttribute('transform') || '') + (t.closest('.annotation-text-g')?.getAttribute('transform') || '')));
  const boxes = texts.map(t => [t.textContent, t.getBoundingClientRect()]).filter(([, b]) => b.width > 0);
  for (const [words, b] of boxes)
    if (b.left < edge.left - 1 || b.right > edge.right + 1 || b.bottom > edge.bottom + 1) found.push(['cut', words]);
  boxes.forEach(([words, a], k) => boxes.slice(0, k).forEach(([others, b]) => {
    if (Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1.5 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 2.5)
      found.push([words, others]);
  }));
}
return found"""
OPEN = "for (const one of document.querySelectorAll('details')) one.open = true"
CHECK = """const done = arguments[arguments.length - 1];
axe.run().then(found => done(found.violations.map(v => [v.impact, v.id, v.nodes[0].html.slice(0, 120)])))"""


def findings(driver: Any) -> list[list[str]]:
    """What axe-core finds on the open page with everything unfolded: impact, rule, the first place."""
    driver.execute_script(OPEN)
    driver.execute_script(Path(os.environ["HOTSIDE_AXE"]).read_text())
    return list(driver.execute_async_script(CHECK))
