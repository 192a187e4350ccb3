"""A small writer of accessible SVG: text, lines, boxes and paths on a column of fixed width."""

from __future__ import annotations

from html import escape

WIDTH = 360.0
"""Units across; a picture is set to about as many pixels on a phone."""
LEFT, RIGHT = 14.0, WIDTH - 14.0
"""Where drawing begins and ends."""
TEXT_WIDTH = 45
"""Characters of the usual letter size in one line."""
BRASS, STEEL = "#b98a35", "#6f8798"
"""Fills that keep a contrast of 3 to 1 to white and to near-black."""
_FONT = "system-ui, sans-serif"


def wrap(text: str, width: int) -> list[str]:
    """Return the text in lines of at most ``width`` characters; a longer word keeps a line of its own."""
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > width:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


class Picture:
    """Collects elements from the top down; ``y`` is where the next one goes."""

    def __init__(self, name: str) -> None:
        self.name, self.y = name, 6.0
        self._parts: list[str] = []

    def text(
        self,
        x: float,
        y: float,
        words: str,
        kind: str,
        anchor: str = "start",
        *,
        bold: bool = False,
        size: float = 13,
        ground: bool = False,
    ) -> None:
        """Add words; ``ground`` lays the page's ground behind the letters."""
        classes = f"{kind} pic-ground" if ground else kind
        weight = ' font-weight="600"' if bold else ""
        self._parts.append(
            f'<text class="{classes}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size:g}"'
            f'{weight} fill="currentColor">{escape(words)}</text>'
        )

    def line(self, x1: float, y1: float, x2: float, y2: float, width: float = 1) -> None:
        """Add a line of the axis."""
        self._parts.append(
            f'<line class="pic-axis" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" '
            f'stroke="currentColor" stroke-width="{width:g}"/>'
        )

    def box(self, x: float, y: float, width: float, height: float, fill: str, kind: str) -> None:
        """Add a filled box with a visible border, so that it does not rest on its colour alone."""
        self._parts.append(
            f'<rect class="{kind}" x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" rx="2" '
            f'fill="{fill}" stroke="currentColor" stroke-width="0.75"/>'
        )

    def path(
        self,
        d: str,
        stroke: str,
        kind: str,
        *,
        width: float,
        fill: str = "none",
        dash: str = "",
        opacity: float = 1,
    ) -> None:
        """Add a path."""
        extra = f' stroke-dasharray="{dash}"' if dash else ""
        extra += f' fill-opacity="{opacity:g}"' if opacity < 1 else ""
        self._parts.append(
            f'<path class="{kind}" d="{d}" fill="{fill}" stroke="{stroke}" stroke-width="{width:g}"{extra}/>'
        )

    def svg(self, title: str, description: str) -> str:
        """Return the picture; title and description are what a screen reader says."""
        height = self.y + 6
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="picture" role="img" '
            f'width="{WIDTH:g}" height="{height:.0f}" viewBox="0 0 {WIDTH:g} {height:.0f}" font-family="{_FONT}" '
            f'aria-labelledby="pic-{self.name}-title pic-{self.name}-desc">'
            f'<title id="pic-{self.name}-title">{escape(title)}</title>'
            f'<desc id="pic-{self.name}-desc">{escape(description)}</desc>'
            f"{''.join(self._parts)}</svg>"
        )
