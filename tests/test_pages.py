"""The page of every verb: made with the JSON by one command, its figures those of the JSON, and read in a real browser."""

import functools
import html
import json
import re
import subprocess
import sys
import tempfile
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hotside.sim import load, predict
from hotside.sim.options import trace_text
from hotside.sim.showing import shown

sys.path.insert(0, str(Path(__file__).parent))
import browser  # beside this file

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
DIVIDED, UNEVEN, SIX, BUGGY, BENCH = (
    str(EXAMPLES / f"{name}.toml") for name in ("divided_four", "uneven", "tractor_six", "flange", "bench")
)
READ = "speed=5000 rpm, boost=1.3 bar, backpressure=1.4 bar"
COMMANDS = {
    "curve": ["predict", SIX, "--speed", "3000:5000:1000 rpm"],
    "sweep": ["sweep", UNEVEN, "--vary", "run.spark_advance=8:16:4 deg"],
    "wide sweep": ["sweep", UNEVEN, "--vary", "run.spark_advance=8:16:4 deg", "--vary", "run.boost=0.5:0.6:0.1 bar", "--vary", "run.lambda=0.8, 0.9"],
    "flange": ["flange", BUGGY],
    "pull": ["pull", DIVIDED],
    "spool": ["spool", DIVIDED],
    "read": ["diagnose", SIX, "--read", READ],
    "burn": ["burn", BENCH, "cycle.csv"],
    "compare": ["compare", UNEVEN, "--with", "turbine.a_over_r=0.82 in", "--no-spool"],
    "plan": ["plan", DIVIDED],
    "limits": ["limits", UNEVEN],
    "placement": ["placement", DIVIDED, "--probes", "2"],
    "lookalikes": ["lookalikes", DIVIDED],
    "improve": ["improve", SIX, "--target", "torque = 700 Nm"],
    "uncertainty": ["uncertainty", DIVIDED, "--samples", "32"],
    "log": ["diagnose", SIX, str(EXAMPLES / "tractor_pulls.csv")],
}  # fmt: skip
SLOW = ("compare", "plan", "limits", "placement", "lookalikes", "improve", "uncertainty", "log")
VERBS = [pytest.param(name, marks=[pytest.mark.slow] if name in SLOW else []) for name in COMMANDS]
# figures of the JSON that the tables show, by the kind of their unit; * is every one
FIGURES = {
    "curve": [("points.*.power_w", "power"), ("points.*.boost_pa", "pressure"), ("points.*.exhaust_temperature_k", "temperature")],
    "flange": [("wall_temperature_k", "temperature"), ("wrench_setting_nm", "torque"), ("margins.*.value", None)],
    "pull": [("torque_nm.0", "torque"), ("backpressure_pa.-1", "pressure"), ("probes.0.needle_k.-1", "temperature")],
    "spool": [("steady_boost_pa", "pressure"), ("torque_nm.-1", "torque"), ("backpressure_pa.-1", "pressure")],
    "read": [("readings.0.measured", "pressure"), ("readings.0.predicted", "pressure")],
    "compare": [("point.power_w.*", "power"), ("point.exhaust_temperature_k.*", "temperature"), ("along.power_w.0.*", "power")],
    "limits": [("region.*.boost_pa", "pressure"), ("region.*.latest.spark_advance_deg", "angle"), ("together.0.highest.strongest.power_w", "power")],
    "plan": [("pulls.*.gauges.0.lift", "pressure")],
    "placement": [("places.*.reading_k", "temperature"), ("places.*.gas_temperature_k", "temperature"), ("taps.*.reading_pa", "pressure")],
    "lookalikes": [("alike.*.power_w", "power"), ("alike.*.reading_k", "temperature"), ("alike.*.spark_advance_deg", "angle")],
    "improve": [("changes.*.value", "torque"), ("here.power_w", "power")],
    "uncertainty": [("readings.0.low", "pressure"), ("readings.0.high", "pressure")],
}  # fmt: skip


class Parts(HTMLParser):
    """Cells of the tables, addresses and headings of a page."""

    def __init__(self, text):
        super().__init__()
        self.cells, self.links, self.inside = [], [], False
        self.feed(re.sub(r"<script>.*?</script>", "", text, flags=re.S))

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.links += [found[k] for k in ("href", "src") if k in found]
        if tag in ("td", "th"):
            self.cells.append("")
            self.inside = True

    def handle_endtag(self, tag):
        self.inside = self.inside and tag not in ("td", "th")

    def handle_data(self, data):
        if self.inside:
            self.cells[-1] += data


@functools.cache
def made(verb):
    """The page of a verb and the JSON that the same command prints."""
    folder = Path(tempfile.mkdtemp())
    if verb == "burn":
        (folder / "cycle.csv").write_text(trace_text(predict(load(BENCH), trace=True).trace))
    command = [sys.executable, "-m", "hotside.sim.cli", *COMMANDS[verb], "--json", "--report", "page.html"]
    done = subprocess.run(command, capture_output=True, text=True, cwd=folder)
    assert done.returncode == 0, done.stderr
    return folder / "page.html", json.loads(done.stdout)


def listed(text):
    """The JSON kept in a page."""
    return json.loads(html.unescape(re.search(r'<pre class="scroll"[^>]*--json[^>]*>(.*?)</pre>', text, re.S)[1]))


def at(values, where):
    """The values that a name with stars stands for."""
    head, _, rest = where.partition(".")
    if isinstance(values, list):
        chosen = values if head == "*" else [values[int(head)]]
    else:
        chosen = [None if values is None else values[head]]
    return [v for one in chosen for v in (at(one, rest) if rest else [one])]


@pytest.mark.parametrize("verb", VERBS)
def test_a_page_holds_the_json_and_its_tables_show_it(verb):
    path, given = made(verb)
    text = path.read_text()
    assert listed(text) == given
    parts = Parts(text)
    family = "us" if SIX in COMMANDS[verb] else "metric"
    for where, kind in FIGURES.get(verb, []):
        values = [v for v in at(given, where) if isinstance(v, float)]
        assert values, where
        if kind:
            for value in values:
                text_of = shown(value, kind, family)
                assert any(
                    text_of in cell or text_of.split()[0] == cell.split(" ")[0] for cell in parts.cells if cell
                ), (where, text_of)
    assert all(link.startswith(("#", "data:")) for link in parts.links)
    assert len(text.encode()) < (
        6e6 if verb != "wide sweep" else 2e6
    )  # which has no picture, and so no drawing library
    pictures = {"wide sweep": 0, "curve": 2}.get(verb, 1)  # the curve, and full load in the compressor's map
    assert text.count('class="picture') == text.count("<img") == pictures
    for said in ("The case", "how to measure", "numba", "makers' limits", "hotside " + COMMANDS[verb][0]):
        assert said.lower() in html.unescape(text).lower(), said


@pytest.mark.skipif(bool(browser.missing()), reason=browser.missing() or "a browser is there")
@pytest.mark.parametrize(("width", "dark"), [(1200, False), (390, True)], ids=["desk", "phone, dark"])
@pytest.mark.parametrize("verb", VERBS)
def test_a_page_in_a_browser(verb, tmp_path, width, dark):
    """Picture drawn and its words apart, nothing on the console, nothing asked for, nothing cut off, the second column in sight."""
    from selenium.webdriver.support.ui import WebDriverWait

    with browser.opened(tmp_path / "profile", width, dark) as driver:
        driver.get(made(verb)[0].as_uri())
        WebDriverWait(driver, 60).until(lambda d: d.execute_script(browser.READY))
        assert driver.execute_script(browser.COVERED) == []
        assert driver.get_log("browser") == []
        assert browser.requests(driver) == []
        assert driver.execute_script("return [...document.images].every(i => i.complete && i.naturalWidth > 300)")
        assert driver.execute_script("return document.documentElement.scrollWidth <= innerWidth")
        assert driver.execute_script(browser.CLIPPED) == []
        driver.execute_script(browser.OPEN)
        second = "return [...document.querySelectorAll('tr > :nth-child(2)')].map(c => c.getBoundingClientRect().left)"
        assert max(driver.execute_script(second)) < 0.8 * width


@pytest.mark.skipif(bool(browser.unchecked()), reason=browser.unchecked() or "a checker is there")
@pytest.mark.parametrize("verb", VERBS)
def test_a_page_is_open_to_everyone(verb, tmp_path):
    """What axe-core finds, with everything unfolded: nothing."""
    with browser.opened(tmp_path / "profile") as driver:
        driver.get(made(verb)[0].as_uri())
        assert browser.findings(driver) == []


@pytest.mark.skipif(bool(browser.missing()), reason=browser.missing() or "a browser is there")
def test_paper_gets_the_still_picture_whole_on_its_sheet(tmp_path):
    """A sheet of A4 leaves 27 cm; the heading takes two of them. On the screen stands the one that answers to a hand."""
    with browser.opened(tmp_path, 1200) as driver:
        driver.get(made("curve")[0].as_uri())
        tall = "return document.querySelector('%s').getBoundingClientRect().height * 2.54 / 96"
        assert driver.execute_script(tall % ".still") == 0.0
        assert driver.execute_script(tall % ".picture") > 15.0
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        assert 15.0 < driver.execute_script(tall % ".still") <= 24.1
        assert driver.execute_script(tall % ".picture") == 0.0


@pytest.mark.slow
@pytest.mark.skipif(bool(browser.missing()), reason=browser.missing() or "a browser is there")
def test_the_card_of_a_plan_fits_one_sheet(tmp_path):
    """As wide and as high as the paper within its margins, what a driver needs ends on the first sheet: A4 with 12 mm."""
    across, down = (round((mm - 24.0) * 96.0 / 25.4) for mm in (210.0, 297.0))
    with browser.opened(tmp_path / "profile", across) as driver:
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        driver.get(made("plan")[0].as_uri())
        ends = driver.execute_script(
            "return document.querySelector('.caution').getBoundingClientRect().bottom + scrollY"
        )
        assert ends < 0.93 * down  # room for three pulls more
        after = "return document.querySelector('.shown').getBoundingClientRect().top + scrollY"
        assert driver.execute_script(after) > ends
