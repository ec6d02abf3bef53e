"""Printed pictures read back as living ones: every artist with its values, places and colours, in words for who does not see."""

import numpy as np
import pytest
from hotside.sim import style
from hotside.sim.report.artists import traces
from hotside.sim.report.living import living


def drawn(work, **kwargs):
    """A figure in the style on whose axes `work` has drawn."""

    @style.drawn
    def draw():
        figure = style.new_figure()
        work(figure.subplots(**kwargs))
        style.head(figure, "what it shows\nand a note")
        style.legend(figure)
        return figure

    return draw()


def one(work):
    figure = drawn(work)
    return living(figure)


def test_a_line_keeps_values_name_dash_and_marker():
    picture = one(
        lambda axes: axes.plot(
            [1.0, 2.0, 3.0], [4.0, float("nan"), 6.0], label="boost < 2", **style.look(1, markers=True)
        )
    )
    (line,) = picture.data
    assert (line["x"], line["y"]) == ([1.0, 2.0, 3.0], [4.0, None, 6.0])
    assert (line["name"], line["line"]["color"], line["marker"]["symbol"]) == ("boost &lt; 2", "@brick", "square")
    assert line["line"]["dash"].count("px") == 2
    assert (picture.title, picture.words) == ("what it shows", "and a note")


def test_marks_along_an_axis_span_it():
    def work(axes):
        axes.plot([0.0, 10.0], [0.0, 5.0])
        axes.axvline(3.0, label="spark")
        axes.set_ylim(-1.0, 7.0)

    mark = next(t for t in one(work).data if t["name"] == "spark")
    assert (mark["x"], mark["y"]) == ([3.0, 3.0], [-1.0, 7.0])


def test_bars_lie_where_they_lay():
    picture = one(lambda axes: axes.barh([0, 1], [30.0, 20.0], left=[0.0, 5.0], color=style.TEAL, label="as good"))
    (bars,) = picture.data
    assert (bars["type"], bars["orientation"], bars["marker"]["color"]) == ("bar", "h", ["@teal", "@teal"])
    assert (bars["x"], bars["base"], bars["y"], bars["width"]) == ([30.0, 20.0], [0.0, 5.0], [0.0, 1.0], [0.8, 0.8])


def test_a_field_keeps_its_values_between_its_corners():
    values = np.array([[1.0, 2.0, np.nan], [3.0, 4.0, 5.0]])

    def work(axes):
        axes.figure.colorbar(
            axes.pcolormesh([0.0, 1.0, 2.0], [0.0, 1.0], values, shading="nearest"), label="power [kW]"
        )

    (field,) = one(work).data
    assert field["z"] == [[1.0, 2.0, None], [3.0, 4.0, 5.0]]
    assert field["x"] == [-0.5, 0.5, 1.5, 2.5]
    assert field["colorbar"]["title"]["text"] == "power [kW]"


def test_areas_contours_dots_and_errors_are_drawn():
    def work(axes):
        axes.stackplot([0.0, 1.0], [1.0, 1.0], [2.0, 2.0], labels=["pipe", "turbine"])
        axes.contour([0.0, 1.0], [0.0, 1.0], [[0.0, 1.0], [1.0, 2.0]], levels=[1.0])
        axes.scatter([0.0, 1.0], [0.0, 1.0], s=[4.0, 9.0], label="dots")
        axes.errorbar([0.5], [1.0], yerr=[[0.2], [0.3]], fmt="o", label="should read")

    found = one(work).data
    areas = [t for t in found if t.get("fill") == "toself"]
    assert [(t["name"], max(t["y"])) for t in areas] == [("pipe", 1.0), ("turbine", 3.0)]
    assert any(t["mode"] == "lines" and set(t["x"]) == {0.0, 1.0} for t in found if "mode" in t and t not in areas)
    assert next(t for t in found if t["name"] == "dots")["marker"]["size"] == pytest.approx([4 * 2 / 3, 4.0], rel=1e-4)
    assert any(t["name"] == "should read" and t["y"] == [1.0] for t in found)
    assert any(t.get("y") == [0.8, 1.3] for t in found)  # the error's bar


def test_axes_stand_where_they_stood():
    def work(rows):
        for axes in rows:
            axes.plot([0.0, 1.0], [0.0, 1.0])
            axes.set_ylabel("power [kW]")
        style.beside(rows[0]).plot([0.0, 1.0], [5.0, 6.0])
        rows[1].set_yticks([0.0, 1.0], ["two\nlines", "b"])

    layout = living(drawn(work, nrows=2, sharex=True)).layout
    assert layout["yaxis"]["domain"][0] > layout["yaxis2"]["domain"][1]
    assert (layout["yaxis3"]["overlaying"], layout["yaxis3"]["side"]) == ("y", "right")
    assert layout["xaxis2"]["matches"] == "x"
    assert layout["yaxis2"]["ticktext"] == ["two<br>lines", "b"]


def test_labels_lie_on_paper_or_on_their_shades():
    """What is white on a field of shades stays white; beside one it takes the colour of the page."""

    def work(axes):
        for one in axes:
            style.haloed([one.text(0.5, 0.5, "74 %", color=style.TEAL)])
        axes[0].pcolormesh([0.0, 1.0], [0.0, 1.0], [[1.0, 2.0], [3.0, 4.0]], shading="nearest")

    on, beside = living(drawn(work, nrows=2)).layout["annotations"]
    assert (on["font"]["color"], on["bgcolor"]) == (style.TEAL, "rgba(255,255,255,0.6)")
    assert (beside["font"]["color"], "bgcolor" in beside) == ("@teal", False)


def test_the_figures_behind_it_stand_in_tables():
    def work(axes):
        x = np.linspace(0.0, 100.0, 101)
        axes.plot(x, 2.0 * x, label="boost")
        axes.plot(x, 3.0 * x, label="backpressure")
        axes.plot([0.0, 100.0], [1.0, 1.0])  # has no name
        axes.set_xlabel("time [s]")

    (table,) = one(work).tables
    assert list(table.headings) == ["time [s]", "boost", "backpressure"]
    assert len(table.rows) == 25
    assert table.rows[0] == ("0", "0", "0")
    assert table.rows[-1] == ("100", "200", "300")


def test_an_artist_nobody_knows_is_said():
    figure = drawn(lambda axes: axes.imshow([[0.0, 1.0]]))
    with pytest.raises(NotImplementedError, match="AxesImage"):
        list(traces(figure.axes[0]))
