"""How large the pages of --report are, and how soon a browser shows them with every picture drawn.

Needs chromium, chromedriver and selenium. The first opening of a page counts, in a browser that has just begun.
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tests"))
import browser  # noqa: E402, beside the tests

LARGEST, LONGEST = 6.0, 2.0  # [MB], [s]
PAGES = {
    "predict": ["predict"], "curve": ["predict", "--speed", "2500:6500:250 rpm"], "plan": ["plan"], "limits": ["limits"],
    "sweep": ["sweep", "--vary", "run.spark_advance=6:25:1 deg", "--vary", "run.boost=0.5:1.4:0.05 bar"],
    "improve": ["improve", "--target", "power = 230 kW"], "uncertainty": ["uncertainty", "--samples", "32"],
}  # fmt: skip
DRAWN = """return [...document.querySelectorAll('.picture')].every(p => p.querySelector('.main-svg'))
  && [...document.images].every(i => i.complete)"""


def opening(page: Path) -> tuple[float, float]:
    """Seconds from the address to the last picture, in a fresh browser, and those its own processor took of them."""
    with tempfile.TemporaryDirectory() as profile, browser.opened(Path(profile)) as driver:
        driver.execute_cdp_cmd("Performance.enable", {"timeDomain": "threadTicks"})
        begun = time.perf_counter()
        driver.get(page.as_uri())
        while not driver.execute_script(DRAWN):
            time.sleep(0.01)
        taken = time.perf_counter() - begun
        measured = driver.execute_cdp_cmd("Performance.getMetrics", {})["metrics"]
        return taken, next(float(m["value"]) for m in measured if m["name"] == "TaskDuration")


def main() -> None:
    """Print size and opening time of each page; exit 1 where one is past its budget."""
    past = False
    with tempfile.TemporaryDirectory() as folder:
        for name, words in PAGES.items():
            page, case = Path(folder) / f"{name}.html", str(ROOT / "examples" / "divided_four.toml")
            command = [sys.executable, "-m", "hotside.sim", words[0], case, *words[1:], "--report", str(page)]
            subprocess.run(command, check=True, capture_output=True)
            size, (time_taken, own) = page.stat().st_size / 1e6, opening(page)
            past = past or size > LARGEST or time_taken > LONGEST
            print(
                f"{name:12s} {size:5.2f} MB (<= {LARGEST:g})   opens in {time_taken:5.2f} s (<= {LONGEST:g}), of it {own:.2f} s of processor"
            )
    sys.exit(past)


if __name__ == "__main__":
    main()
