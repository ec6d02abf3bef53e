"""The look of pictures: colours told apart by colour-blind eyes and in grey, and every picture of a verb drawn in it."""

import re
from itertools import combinations
from pathlib import Path

import hotside.sim
import numpy as np
import pytest
from hotside.sim import style

colorspacious = pytest.importorskip(
    "colorspacious"
)  # simulates colour-blind sight: Machado, Oliveira & Fernandes (2009)
ROOM = Path(hotside.sim.__file__).parent
APART = 16.0  # of lightness and hue in CAM02-UCS; a just noticeable step is about 1
LIGHTER = 6.0  # least step of lightness J', in grey, between any two lines


def seen(colour: str, kind: str | None = None) -> np.ndarray:
    """A colour in CAM02-UCS as an eye of that kind sees it."""
    rgb = np.array([int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)])
    if kind is not None:
        blind = {"name": "sRGB1+CVD", "cvd_type": kind, "severity": 100}
        rgb = np.clip(colorspacious.cspace_convert(rgb, blind, "sRGB1"), 0.0, 1.0)
    return colorspacious.cspace_convert(rgb, "sRGB1", "CAM02-UCS")


@pytest.mark.parametrize("kind", [None, "deuteranomaly", "protanomaly", "tritanomaly"])
def test_lines_are_told_apart_by_every_eye(kind):
    for a, b in combinations(style.COLOURS, 2):
        assert np.linalg.norm(seen(a, kind) - seen(b, kind)) > APART, (a, b, kind)


def test_lines_are_told_apart_in_grey():
    """By lightness, or where two are near by their dashes and markers, which no two lines share."""
    lightness = sorted(seen(c)[0] for c in style.COLOURS)
    assert min(np.diff(lightness)) > LIGHTER
    looks = [style.look(k, markers=True) for k in range(5)]
    assert len({str(one["linestyle"]) for one in looks}) == len({one["marker"] for one in looks}) == 5


def test_fields_grow_lighter_evenly():
    found = [
        colorspacious.cspace_convert(rgb[:3], "sRGB1", "CAM02-UCS")[0] for rgb in style.shades()(np.linspace(0, 1, 20))
    ]
    steps = np.diff(found)
    assert steps.min() > 0.0
    assert steps.max() < 3.0 * steps.min()


def test_lines_and_words_stand_out_from_paper():
    paper = seen("#ffffff")[0]
    assert all(paper - seen(c)[0] > 20.0 for c in style.COLOURS)


def test_words_can_be_read_on_the_page_of_a_phone():
    """390 points wide; a capital of 8 points is about as high as that of a newspaper's small print."""
    sizes = [v for name, v in style.RC.items() if name.endswith("size") and not name.startswith("lines")]
    assert min([*sizes, style.LEAST]) / 72.0 * 390.0 / style.WIDTH >= 8.0
    assert style.new_figure(12.0, 3.0).get_size_inches()[0] == style.WIDTH
    sizes = {
        str(p): float(v) for p in ROOM.glob("verbs/**/*.py") for v in re.findall(r"fontsize=([\d.]+)", p.read_text())
    }
    assert {name: size for name, size in sizes.items() if size < style.LEAST} == {}


def test_a_legend_takes_as_many_columns_as_there_is_room_for():
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    for letters, columns in ((5, 3), (40, 1)):
        figure = style.new_figure()
        axes = figure.add_subplot()
        for k in range(6):
            axes.plot([0, 1], [k, k], label=str(k) * letters)
        style.legend(figure)
        box = figure.legends[0].get_window_extent(FigureCanvasAgg(figure).get_renderer())
        assert len(figure.legends) == 1
        assert box.width < figure.bbox.width
        assert figure.legends[0]._ncols == columns


PICTURES = [*sorted(ROOM.glob("verbs/*/plot.py")), ROOM / "verbs" / "curve" / "operating_line.py"]


@pytest.mark.parametrize("path", PICTURES, ids=lambda p: f"{p.parent.name}/{p.stem}")
def test_pictures_of_verbs_are_one_family(path):
    """They draw in the style, and bring no fonts, frames or colours of their own."""
    text = path.read_text()
    assert "from ...style import" in text
    assert "@drawn" in text
    for own in ("Figure(", "rcParams", "#1", "spines", "frameon"):
        assert own not in text, own


def test_the_style_changes_nothing_of_the_process():
    import matplotlib

    before = dict(matplotlib.rcParams)
    style.drawn(lambda: style.new_figure().add_subplot())()
    assert dict(matplotlib.rcParams) == before
