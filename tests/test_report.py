"""Pictures and the page of an operating point: what stands in them, and the page in a real browser."""

import json
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hotside.sim import CaseError, load, predict
from hotside.sim.names import RESULTS
from hotside.sim.report.page import Section, page, write_report
from hotside.sim.report.tables import Cell, Table
from hotside.sim.verbs.predict.plot import columns, draw, spans

sys.path.insert(0, str(Path(__file__).parent))
import browser  # beside this file

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
NAMES = ("tractor_six", "divided_four", "bench")


@pytest.fixture(scope="module", params=NAMES)
def solved(request):
    case = load(EXAMPLES / f"{request.param}.toml")
    return case, predict(case, trace=True)


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """A page made on the command line, and the JSON of the same command."""
    folder = tmp_path_factory.mktemp("pages")
    command = [sys.executable, "-m", "hotside.sim.cli", "predict", str(EXAMPLES / "tractor_six.toml"), "--json"]
    command += ["--report", "six.html", "--plot", "six.svg", "--set", "run.spark_advance=18 deg"]
    done = subprocess.run(command, capture_output=True, text=True, cwd=folder)
    assert done.returncode == 0, done.stderr
    return folder, json.loads(done.stdout)


class Kept(HTMLParser):
    """Values kept in the cells of a page, by their name in the JSON, and every address in it."""

    def __init__(self, text):
        super().__init__()
        self.values, self.links, self.ids = {}, [], []
        self.feed(re.sub(r"<script>.*?</script>", "", text, flags=re.S))

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        if "data-name" in found:
            self.values[found["data-name"]] = json.loads(found["data-si"])
        self.links += [found[k] for k in ("href", "src") if k in found]
        self.ids += [found["id"]] if "id" in found else []


def at(values, name):
    for part in name.split("."):
        values = values[int(part)] if part.isdigit() else values[part]
    return values


# ------------------------------------------------------------------------------------------------ pictures


def test_the_picture_shows_the_cycle_with_units_and_valve_events(solved):
    case, p = solved
    figure = draw(p, case, "us")
    assert all("[psi]" in a.get_ylabel() for a in figure.axes[:2])
    assert "[degF]" in figure.axes[2].get_ylabel()
    labels = {t.get_text() for t in figure.legends[0].get_texts()}
    assert {"cylinder", "exhaust valves open", "intake valves open", "runner of cylinder 1"} - labels <= (
        {"runner of cylinder 1"} if case.is_bench else set()
    )
    line = next(x for x in figure.axes[0].get_lines() if x.get_label() == "cylinder")
    assert max(line.get_ydata()) == pytest.approx(max(p.trace["cylinder_pressure_pa"]) / 6894.757, rel=1e-6)
    probes = [label for label in labels if label.startswith("probe reads")]
    assert len(probes) == (0 if case.is_bench else len(p.probes))
    assert len(columns(p.trace, "collector_pressure")) == (case.exhaust.collectors if not case.is_bench else 1)


def test_nothing_of_a_picture_overlaps(solved):
    """Axes, their labels and the legend, as they are laid out."""
    case, p = solved
    figure = draw(p, case, "metric")
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    boxes = [a.get_tightbbox(canvas.get_renderer()) for a in figure.axes]
    boxes += [figure.legends[0].get_window_extent(), figure._suptitle.get_window_extent()]
    for k, one in enumerate(boxes):
        assert not any(one.overlaps(other) for other in boxes[:k])
        assert one.x0 >= 0.0
        assert one.x1 <= figure.bbox.x1


def test_a_valve_event_is_folded_into_the_cycle():
    assert spans(134.0, 370.0) == [(134.0, 360.0), (-360.0, -350.0)]
    assert spans(348.0, 586.0) == [(348.0, 360.0), (-360.0, -134.0)]
    assert spans(400.0, 586.0) == [(-320.0, -134.0)]


def test_a_picture_needs_the_record_of_the_cycle():
    case = load(EXAMPLES / "bench.toml")
    with pytest.raises(ValueError, match="trace=True"):
        draw(predict(case), case, "metric")


# ------------------------------------------------------------------------------------------------ the page as text


def test_every_value_of_the_page_is_that_of_the_json(pages):
    folder, given = pages
    kept = Kept((folder / "six.html").read_text())
    assert len(kept.values) > 120
    for name, value in kept.values.items():
        assert value == at(given, name), name
    scalars = {n for n, row in RESULTS.items() if row.kind != "list" and given.get(n) is not None}
    assert scalars <= set(kept.values)
    for k in range(len(given["margins"])):
        assert f"margins.{k}.margin" in kept.values
    assert (folder / "six.svg").read_text().count("<path") > 20


def test_the_page_is_whole_in_itself(pages):
    text = (pages[0] / "six.html").read_text()
    assert len(text.encode()) < 6e6
    kept = Kept(text)
    assert all(link.startswith(("#", "data:")) for link in kept.links)
    assert {link[1:] for link in kept.links if link.startswith("#")} <= set(kept.ids)
    assert len(kept.ids) == len(set(kept.ids))
    words = re.sub(r"<script>.*?</script>", "", text, flags=re.S)
    for said in ("tractor-pulling six", "Step-up card", "Stay out of the plane of the wheels", "Hohenberg", "how to measure", "numba", "run.spark_advance=18 deg", "18 deg", "energy_closure"):  # fmt: skip
        assert said in words, said


def test_words_of_a_case_cannot_break_the_page():
    section = Section(
        "a <b>", ["x & y", Table("t", ("h", "v"), [("<script>alert(1)</script>", Cell("1", "a\"'<", "n"))])]
    )
    text = page('"<title>"', "lead", [section])
    assert "<script>alert" not in text
    assert Kept(text).values == {"n": "a\"'<"}


def test_a_page_is_refused_before_anything_is_solved(tmp_path):
    with pytest.raises(CaseError, match=r"does not end in \.html"):
        write_report(tmp_path / "a.pdf", "t", "l", [])
    (tmp_path / "a.html").write_text("mine")
    with pytest.raises(CaseError, match="there already"):
        write_report(tmp_path / "a.html", "t", "l", [])
    assert (tmp_path / "a.html").read_text() == "mine"


# ------------------------------------------------------------------------------------------------ the page in a browser


DRAWN = "return document.querySelectorAll('.picture .main-svg .scatterlayer .trace').length"
INK = "return getComputedStyle(document.querySelector('.picture .xtick text, .picture .xaxislayer-above text')).fill"


@pytest.mark.skipif(bool(browser.missing()), reason=browser.missing() or "a browser is there")
@pytest.mark.parametrize(("width", "dark"), [(1200, False), (390, True)], ids=["desk", "phone, dark"])
def test_in_a_browser(pages, tmp_path, width, dark):
    """Pictures drawn, nothing said on the console, nothing asked for, nothing cut off; sections reached by keyboard."""
    from selenium.webdriver.common.by import By
    from selenium.webdriver.common.keys import Keys
    from selenium.webdriver.support.ui import WebDriverWait

    with browser.opened(tmp_path / "profile", width, dark) as driver:
        driver.get((pages[0] / "six.html").as_uri())
        WebDriverWait(driver, 60).until(lambda d: d.execute_script(browser.READY))
        assert driver.get_log("browser") == []
        assert browser.requests(driver) == []
        pictures = driver.find_elements(By.CSS_SELECTOR, ".picture")
        assert len(pictures) == 2  # the cycle, the card
        assert driver.execute_script(DRAWN) >= 9
        assert driver.execute_script("return document.documentElement.scrollWidth <= innerWidth")
        assert driver.execute_script(browser.CLIPPED) == []
        red = next(int(v) for v in re.findall(r"\d+", driver.execute_script(INK)))
        assert (red > 128) is dark
        body = driver.find_element(By.TAG_NAME, "body")
        body.send_keys(Keys.TAB)
        assert driver.switch_to.active_element.get_attribute("class") == "skip"
        for cell in driver.find_elements(By.CSS_SELECTOR, "td[data-name='power_w'], td[data-name='torque_nm']"):
            assert re.fullmatch(r"\d+ (hp|lb ft)", cell.text)
        assert all(p.get_attribute("aria-label") for p in pictures)
        assert driver.execute_script(browser.COVERED) == []


@pytest.mark.skipif(bool(browser.unchecked()), reason=browser.unchecked() or "a checker is there")
def test_the_page_is_open_to_everyone(pages, tmp_path):
    with browser.opened(tmp_path / "profile") as driver:
        driver.get((pages[0] / "six.html").as_uri())
        assert browser.findings(driver) == []
