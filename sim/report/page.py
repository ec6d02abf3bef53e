"""One self-contained page: sections of words, tables and interactive pictures, with nothing fetched from anywhere.

Any verb can make one: give `write_report` a title, a sentence and sections.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from html import escape
from pathlib import Path
from typing import Any

from ..errors import CaseError
from ..files import check_new, write_whole

ROOM = Path(__file__).parent
POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data: blob:"


@dataclass(frozen=True)
class Cell:
    """One value of a table; `si` is what the JSON holds under `name`, kept beside the words a person reads.

    alarm : past a limit
    said : words, which begin at the left
    """

    text: str
    si: Any = None
    name: str = ""
    alarm: bool = False
    said: bool = False


@dataclass(frozen=True)
class Table:
    """Rows of cells under headings; the first cell of a row names it.

    look : "" for figures, "words" for sentences, "named" where a phone may leave the last column out
    """

    caption: str
    headings: Sequence[str]
    rows: Sequence[Sequence[Cell | str]]
    look: str = ""


@dataclass(frozen=True)
class Picture:
    """An interactive picture: traces and layout as Plotly takes them, colours by name, and what it shows in words."""

    title: str
    words: str
    data: list[dict[str, Any]]
    layout: dict[str, Any]
    table: Table | None = None


@dataclass(frozen=True)
class Drawing:
    """A picture that does not move: what it shows in words, and an SVG file in base64."""

    words: str
    svg: str


@dataclass(frozen=True)
class Listing:
    """Text kept letter by letter, and what it is."""

    words: str
    text: str


@dataclass(frozen=True)
class Section:
    """A heading and what stands below it: paragraphs, tables, pictures; `folded` opens when asked."""

    title: str
    blocks: Sequence["str | Table | Picture | Drawing | Listing | list[str]"]
    folded: bool = False
    kind: str = field(default="", kw_only=True)  # "caution" is framed, "data" stays off paper


def check_report(path: Path, force: bool) -> None:
    """Raise CaseError where a page cannot go to `path`, before anything is calculated."""
    if path.suffix.lower() not in (".html", ".htm"):
        raise CaseError(f"--report {path} does not end in .html; write for example --report point.html.")
    check_new(path, force)
    try:
        import plotly  # noqa: F401
    except ImportError:
        raise CaseError("--report needs plotly, which is not installed; pip install plotly.") from None


def write_report(path: Path, title: str, lead: str, sections: Sequence[Section], force: bool = False) -> None:
    """Write the page whole; raises CaseError."""
    check_report(path, force)
    write_whole(path, page(title, lead, sections), force)


def page(title: str, lead: str, sections: Sequence[Section]) -> str:
    """The page as text."""
    from plotly.offline import get_plotlyjs

    pictures = [b for s in sections for b in s.blocks if isinstance(b, Picture)]
    number = {id(p): k for k, p in enumerate(pictures, 1)}
    body = "\n".join(_section(s, k, number) for k, s in enumerate(sections, 1))
    links = "".join(f'<li><a href="#s{k}">{escape(s.title)}</a></li>' for k, s in enumerate(sections, 1))
    drawn = json.dumps({f"p{number[id(p)]}": {"data": p.data, "layout": p.layout} for p in pictures}).replace(
        "<", "\\u003c"
    )
    script = f"<script>{(ROOM / 'paper.js').read_text()}</script>"
    if pictures:
        script += f"\n<script>{get_plotlyjs()}</script>\n<script>const PICTURES = {drawn};\n{(ROOM / 'page.js').read_text()}</script>"
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{escape(title)}</title>
<link rel="icon" href="data:,">
<style>
{(ROOM / "page.css").read_text()}</style>
</head>
<body>
<a class="skip" href="#s1">Skip to the results</a>
<header><h1>{escape(title)}</h1><p class="lead">{escape(lead)}</p></header>
<nav aria-label="Sections of this page"><ol>{links}</ol></nav>
<main>
{body}
</main>
{script}
</body>
</html>
"""


def _section(section: Section, number: int, pictures: dict[int, int]) -> str:
    inner = "\n".join(part for block in section.blocks for part in _block(block, pictures, section.title))
    heading = f'<h2 id="s{number}" tabindex="-1">{escape(section.title)}</h2>'
    if section.folded:
        inner = f"<details><summary>Show {escape(section.title[:1].lower() + section.title[1:])}</summary>\n{inner}\n</details>"
    return f'<section aria-labelledby="s{number}" class="{section.kind}">{heading}\n{inner}\n</section>'


def _block(block: Any, pictures: dict[int, int], heading: str) -> Iterator[str]:
    if isinstance(block, str):
        yield f"<p>{escape(block)}</p>"
    elif isinstance(block, Table):
        yield _table(block, heading)
    elif isinstance(block, Picture):
        yield _picture(block, pictures[id(block)])
    elif isinstance(block, Drawing):
        yield f'<figure><img class="drawing" alt="{escape(block.words)}" src="data:image/svg+xml;base64,{block.svg}"></figure>'
    elif isinstance(block, Listing):
        yield f'<pre class="scroll" role="group" tabindex="0" aria-label="{escape(block.words)}">{escape(block.text)}</pre>'
    elif len(block) == 1:
        yield f"<p>{escape(block[0])}</p>"
    elif block:
        yield "<ul>" + "".join(f"<li>{escape(item)}</li>" for item in block) + "</ul>"


def _table(table: Table, heading: str = "") -> str:
    """A table that can be scrolled sideways by hand and by keyboard where the screen is narrow; its caption above it.

    The caption is no part of the table, which would be as wide as its caption on a phone; it is not said twice below a heading
    that says it.
    """
    said = (
        [isinstance(cell, Cell) and cell.said for cell in table.rows[0]]
        if table.rows
        else [False] * len(table.headings)
    )
    heads = "".join(
        f'<th scope="col"{_worn(said=left)}>{escape(h)}</th>' if h else "<td></td>"
        for h, left in zip(table.headings, said, strict=True)
    )
    rows = "\n".join("<tr>" + "".join(_cell(c, k == 0) for k, c in enumerate(row)) + "</tr>" for row in table.rows)
    head = f"<thead><tr>{heads}</tr></thead>" if any(table.headings) else ""
    name = escape(table.caption)
    above = "" if table.caption.lower() == heading.lower() else f'<p class="caption" aria-hidden="true">{name}</p>'
    return (
        f'{above}<div class="scroll" role="group" tabindex="0" aria-label="{name}"><table class="{table.look}" aria-label="{name}">'
        f"{head}<tbody>\n{rows}\n</tbody></table></div>"
    )


def _cell(cell: Cell | str, first: bool) -> str:
    cell = Cell(cell) if isinstance(cell, str) else cell
    kept = f" data-name=\"{escape(cell.name)}\" data-si='{escape(json.dumps(cell.si))}'" if cell.name else ""
    tag, scope = ("th", ' scope="row"') if first and cell.text else ("td", "")
    return f"<{tag}{scope}{kept}{_worn(alarm=cell.alarm, said=cell.said)}>{escape(cell.text)}</{tag}>"


def _worn(**looks: bool) -> str:
    """The class of a cell."""
    names = " ".join(name for name, worn in looks.items() if worn)
    return f' class="{names}"' if names else ""


def _picture(picture: Picture, number: int) -> str:
    behind = (
        f"<details><summary>The figures behind this picture</summary>{_table(picture.table)}</details>"
        if picture.table
        else ""
    )
    return (
        f"<figure><figcaption><strong>{escape(picture.title)}.</strong> {escape(picture.words)}</figcaption>"
        f'<div class="picture" id="p{number}" role="img" aria-label="{escape(picture.title)}"></div>'
        f"<noscript><p>The picture needs scripts to be allowed; its figures stand below.</p></noscript>{behind}</figure>"
    )
