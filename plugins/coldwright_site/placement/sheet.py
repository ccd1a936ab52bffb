"""A sheet of paper for a plan to scale: an SVG document in millimetres, its window onto the site, lines and words."""

import math
import textwrap
from collections.abc import Callable
from typing import Any

from coldwright.contract import lazy

shapely = lazy("shapely")
tree = lazy("xml.etree.ElementTree")

WIDTH, HEIGHT = 297.0, 210.0
FRAME = (8.0, 8.0, 212.0, 196.0)
"""Left, top, right and bottom of the plan on the sheet, mm."""
LEAST_DOWN = 80.0
"""mm that the plan is high at least, so that the words beside it have room."""
COLUMN = 217.0
LEGEND_STEP = 37.0
SCALES = (
    20,
    25,
    50,
    75,
    100,
    125,
    150,
    200,
    250,
    300,
    400,
    500,
    750,
    1000,
    1500,
    2000,
    2500,
    5000,
    10000,
    20000,
    50000,
)
FEET_TO_AN_INCH = (
    1,
    2,
    3,
    4,
    5,
    6,
    8,
    10,
    15,
    20,
    25,
    30,
    40,
    50,
    60,
    80,
    100,
    150,
    200,
    300,
    400,
    500,
    1000,
    2000,
    4000,
)
"""The same for drawings in feet: feet of the site to an inch of the sheet."""
FOOT = 0.3048
"""m."""
ACROSS_INCHES = 11.7
INK, GREY, PAPER = "#1b1b1b", "#6e6e6e", "#ffffff"
LACK, HOSE, CABLE, AIR = "#b3261e", "#1f5f8b", "#8a5a00", "#3d7ea6"
FONT = "sans-serif"
PATTERNS = {
    # name: spacing in mm, turn in degrees, colour, width
    "hatch": (2.0, 45, INK, 0.3),
    "wide-hatch": (4.0, 45, GREY, 0.3),
    "lack-hatch": (1.5, 45, LACK, 0.35),
    "upright": (1.6, 0, GREY, 0.3),
    "level": (2.2, 90, GREY, 0.25),
}


def words(text: str, most: int = 26) -> str:
    """Text that fits on one line and is allowed in XML."""
    plain = " ".join("".join(c for c in text if c.isprintable() or c == " ").split())
    return plain if len(plain) <= most else plain[: most - 1] + "…"


def number(value: float) -> str:
    """A coordinate on the sheet."""
    return f"{value:.2f}"


def feet_and_inches(metres: float, whole: Callable[[float], int] = round) -> str:
    """`12 ft 6 in`, to the whole inch; `whole` says which way."""
    feet, inches = divmod(whole(round(metres / FOOT * 12, 6)), 12)
    return " ".join(filter(None, (f"{feet} ft" if feet else "", f"{inches} in" if inches or not feet else "")))


class Sheet:
    """One page, as wide as A4 across and no higher than it must be, or as all of A4 where it is `whole`.

    What is drawn in metres is clipped to the window. `feet`: its figures are in feet and inches.
    """

    def __init__(
        self, focus: tuple[float, float, float, float], title: str, *, feet: bool = False, whole: bool = True
    ) -> None:
        left, top, right, lowest = FRAME
        across, down = right - left, lowest - top
        need = max((focus[2] - focus[0]) / across, (focus[3] - focus[1]) / down) * 1000
        self.feet = feet
        scales = tuple(12 * n for n in FEET_TO_AN_INCH) if feet else SCALES
        self.scale = next((s for s in scales if s >= need), 1200 * math.ceil(need / 1200))
        self.per_metre = 1000 / self.scale
        down = down if whole else min(down, max(LEAST_DOWN, (focus[3] - focus[1]) * self.per_metre))
        self._bottom = top + down
        middle = ((focus[0] + focus[2]) / 2, (focus[1] + focus[3]) / 2)
        half = (across / 2 / self.per_metre, down / 2 / self.per_metre)
        self.window = shapely.box(middle[0] - half[0], middle[1] - half[1], middle[0] + half[0], middle[1] + half[1])
        self._origin = (left + across / 2 - middle[0] * self.per_metre, top + down / 2 + middle[1] * self.per_metre)
        self._cursor = 12.0
        self.root = tree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "width": f"{WIDTH:g}mm",
                "font-family": FONT,
                "role": "img",
            },
        )
        self.put("title").text = title
        self._shelf = self.put("defs")
        self._paper = self.put("rect", x="0", y="0", width=f"{WIDTH:g}", fill=PAPER)

    def _patterns(self) -> None:
        used = {element.get("fill") for element in self.root.iter()}
        for name, (gap, turn, colour, width) in PATTERNS.items():
            if f"url(#{name})" not in used:
                continue
            size = f"{gap:g}"
            pattern = tree.SubElement(
                self._shelf,
                "pattern",
                {
                    "id": name,
                    "patternUnits": "userSpaceOnUse",
                    "width": size,
                    "height": size,
                    "patternTransform": f"rotate({turn})",
                },
            )
            line = {"x1": "0", "y1": "0", "x2": "0", "y2": size, "stroke": colour, "stroke-width": f"{2 * width:g}"}
            tree.SubElement(pattern, "line", line)

    def put(self, name: str, **attributes: str) -> Any:
        """An element on the page; `stroke_width` is written `stroke-width`."""
        return tree.SubElement(self.root, name, {k.replace("_", "-"): v for k, v in attributes.items()})

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Where a point of the site is on the sheet."""
        return self._origin[0] + x * self.per_metre, self._origin[1] - y * self.per_metre

    def shape(self, shape: Any, **style: str) -> None:
        """An area, line or point of the site, clipped to the window."""
        for part in shapely.get_parts(shape.intersection(self.window)):
            if part.is_empty:
                continue
            if part.geom_type == "Polygon":
                rings = [part.exterior, *part.interiors]
                self.put("path", d=" ".join(self._path(r.coords) + " Z" for r in rings), fill_rule="evenodd", **style)
            elif part.geom_type == "Point":
                x, y = self.at(part.x, part.y)
                self.put("circle", cx=number(x), cy=number(y), r="1.2", **style)
            else:
                self.put("path", d=self._path(part.coords), **(style | {"fill": "none"}))

    def _path(self, coordinates: Any) -> str:
        return "M " + " L ".join(" ".join(map(number, self.at(x, y))) for x, y in coordinates)

    def label(
        self, x: float, y: float, text: str, size: float = 2.9, colour: str = INK, weight: str = "normal"
    ) -> None:
        """Words at a point of the sheet, in the middle, on a light ground so that lines below don't hide them."""
        for stroke in (PAPER, "none"):
            element = self.put(
                "text",
                x=number(x),
                y=number(y),
                fill=colour,
                stroke=stroke,
                stroke_width="0.9",
                stroke_linejoin="round",
                font_size=f"{size:g}",
                font_weight=weight,
                text_anchor="middle",
            )
            element.text = text

    def badge(self, x: float, y: float, text: str) -> None:
        """A number in a ring."""
        self.put("circle", cx=number(x), cy=number(y), r="2.3", fill=PAPER, stroke=LACK, stroke_width="0.5")
        element = self.put(
            "text", x=number(x), y=number(y + 1), fill=LACK, font_size="2.8", font_weight="bold", text_anchor="middle"
        )
        element.text = text

    # --- the column beside the plan --------------------------------------------------------------------------------
    def heading(self, text: str, size: float = 3.4) -> None:
        """A line in bold."""
        self._cursor += size + 2.4
        self._line(COLUMN, text, size, INK, "bold")

    def paragraph(self, text: str, colour: str = INK, indent: float = 0.0) -> None:
        """Words over as many lines as they need."""
        for line in textwrap.wrap(text, 50 - int(indent / 1.3)):
            self._cursor += 3.5
            self._line(COLUMN + indent, line, 2.6, colour, "normal")

    def room(self) -> float:
        """mm left in the column."""
        return self._bottom - self._cursor

    def legend(self, entries: list[tuple[str, str, tuple[dict[str, str], ...]]]) -> None:
        """Swatches with words, two beside each other; an entry is `area` or `line`, words, and styles one on "
        "another."""
        for index, (form, text, styles) in enumerate(entries):
            x = COLUMN + (index % 2) * LEGEND_STEP
            self._cursor += 4.6 if index % 2 == 0 else 0.0
            y = self._cursor
            for style in styles:
                if form == "area":
                    self.put("rect", x=number(x), y=number(y - 2.7), width="7", height="3.1", **style)
                else:
                    middle = number(y - 1.1)
                    self.put("line", x1=number(x), y1=middle, x2=number(x + 7), y2=middle, **style)
            self._line(x + 8.5, text, 2.5, INK, "normal")

    def numbered(self, badge: str, text: str) -> None:
        """A line beside a number in a ring."""
        self._cursor += 5.2
        self.badge(COLUMN + 2.4, self._cursor - 0.9, badge)
        self._line(COLUMN + 6.4, text, 2.5, INK, "normal")

    def _line(self, x: float, text: str, size: float, colour: str, weight: str) -> None:
        element = self.put(
            "text", x=number(x), y=number(self._cursor), fill=colour, font_size=f"{size:g}", font_weight=weight
        )
        element.text = text

    # --- frame -----------------------------------------------------------------------------------------------------
    def frame(self) -> None:
        """The border with ticks in metres or feet, the scale and its bar."""
        left, top, right, bottom = *FRAME[:3], self._bottom
        self.put(
            "rect", x=number(left), y=number(top), width=number(right - left), height=number(bottom - top),
            fill="none", stroke=INK, stroke_width="0.5",
        )  # fmt: skip
        unit = FOOT if self.feet else 1.0
        per_unit = self.per_metre * unit
        step = next(
            (s * 10**p for p in range(5) for s in (1, 2, 5) if s * 10**p * per_unit >= 12),
            10 ** math.ceil(math.log10(12 / per_unit)),
        )
        low_x, low_y, high_x, high_y = (bound / unit for bound in self.window.bounds)
        ticks = []
        for value in range(math.ceil(low_x / step), math.floor(high_x / step) + 1):
            x, _ = self.at(value * step * unit, 0)
            ticks.append(f"M {number(x)} {number(bottom)} L {number(x)} {number(bottom - 1.6)}")
            self._figure(x, bottom + 3.2, f"{value * step:g}")
        for value in range(math.ceil(low_y / step), math.floor(high_y / step) + 1):
            _, y = self.at(0, value * step * unit)
            ticks.append(f"M {number(left)} {number(y)} L {number(left + 1.6)} {number(y)}")
            self._figure(left - 3.4, y + 0.8, f"{value * step:g}")
        self.put("path", d=" ".join(ticks), fill="none", stroke=INK, stroke_width="0.25")
        self._bar(step, per_unit)

    def _figure(self, x: float, y: float, text: str) -> None:
        element = self.put("text", x=number(x), y=number(y), fill=GREY, font_size="2.2", text_anchor="middle")
        element.text = text

    def _bar(self, step: float, per_unit: float) -> None:
        left, y = FRAME[0], self._bottom + 7.0
        for index in range(4):
            self.put(
                "rect",
                x=number(left + index * step * per_unit),
                y=number(y),
                width=number(step * per_unit),
                height="1.6",
                fill=INK if index % 2 == 0 else PAPER,
                stroke=INK,
                stroke_width="0.25",
            )
        end = left + 4 * step * per_unit
        element = self.put("text", x=number(end + 2), y=number(y + 1.7), fill=INK, font_size="2.8")
        element.text = f"{4 * step:g} {self._scale()}"

    def _scale(self) -> str:
        if self.feet:
            return f"ft · 1 in is {self.scale // 12} ft where this sheet is {ACROSS_INCHES} in wide · figures at the border in ft"
        return f"m · scale 1 : {self.scale} on A4 · figures at the border in m"

    def text(self) -> str:
        """The document, with the patterns that it uses."""
        self._patterns()
        below = HEIGHT - FRAME[3]
        high = math.ceil(min(HEIGHT, max(self._bottom + below, self._cursor + below / 2)))
        self.root.attrib |= {"height": f"{high}mm", "viewBox": f"0 0 {WIDTH:g} {high}"}
        self._paper.set("height", str(high))
        return str(tree.tostring(self.root, encoding="unicode"))
