"""One self-contained page: sections of words, tables and interactive pictures, with nothing fetched from anywhere.

Any verb can make one: give `write_report` a title, a sentence and sections.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from html import escape
from pathlib import Path
from typing import Any, NamedTuple

from ..errors import CaseError
from ..files import check_new, write_whole
from .tables import Table, table_text

ROOM = Path(__file__).parent
POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data: blob:"


class Size(NamedTuple):
    """Pixels from top to foot, and whether the picture keeps its width on a phone, where it is then moved sideways."""

    height: int
    wide: bool


@dataclass(frozen=True)
class Picture:
    """A picture that answers to a hand: traces and layout as Plotly takes them, colours by name, and what it shows in words.

    tables : the figures behind it
    still : the same as an SVG file in base64, for paper and where scripts are not allowed
    """

    title: str
    words: str
    data: list[dict[str, Any]]
    layout: dict[str, Any]
    tables: Sequence[Table]
    still: str
    size: Size


@dataclass(frozen=True)
class Listing:
    """Text kept letter by letter, and what it is."""

    words: str
    text: str


@dataclass(frozen=True)
class Section:
    """A heading and what stands below it: paragraphs, tables, pictures; `folded` opens when asked."""

    title: str
    blocks: Sequence["str | Table | Picture | Listing | list[str]"]
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
    drawn = json.dumps(
        {f"p{number[id(p)]}": {"data": p.data, "layout": p.layout, "height": p.size.height} for p in pictures}
    ).replace("<", "\\u003c")
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
<noscript><style>.picture {{ display: none; }} .still {{ display: block; }}</style></noscript>
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
        yield table_text(block, heading)
    elif isinstance(block, Picture):
        yield _picture(block, pictures[id(block)])
    elif isinstance(block, Listing):
        yield f'<pre class="scroll" role="group" tabindex="0" aria-label="{escape(block.words)}">{escape(block.text)}</pre>'
    elif len(block) == 1:
        yield f"<p>{escape(block[0])}</p>"
    elif block:
        yield "<ul>" + "".join(f"<li>{escape(item)}</li>" for item in block) + "</ul>"


def _picture(picture: Picture, number: int) -> str:
    title = escape(picture.title)
    behind = "\n".join(table_text(table) for table in picture.tables)
    return (
        f"<figure><figcaption><strong>{title}.</strong> {escape(picture.words)}</figcaption>"
        f'<div class="frame" role="group" tabindex="0" aria-label="{title}"><div class="picture{" wide" * picture.size.wide}" id="p{number}" '
        f'role="img" aria-label="{title}" style="height: {picture.size.height}px"></div></div>'
        f'<img class="still" alt="{title}" src="data:image/svg+xml;base64,{picture.still}">'
        f"<details><summary>The figures behind this picture</summary>{behind}</details></figure>"
    )
