"""The pictures: well formed, to scale, legible on a phone, and each rule on its own row."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import pytest

from advisor.advice import Advice
from advisor.consult import Consultant
from advisor.report.edge_picture import edge_section
from advisor.report.pictures import angle_axis, finish_axis, rows_of
from advisor.report.svg import WIDTH, wrap

SVG = "{http://www.w3.org/2000/svg}"
QUESTIONS = {
    "coarse carbides": {"grade": "440C", "hardness": 58, "use": "everyday-carry"},
    "razor": {"grade": "13C26", "hardness": 61, "use": "shaving"},
    "soft kitchen knife": {"grade": "1.4116", "hardness": 56, "use": "kitchen-slicing"},
    "chopper": {"grade": "D2", "use": "chopping", "wish": "toughness"},
    "mirror": {"grade": "440C", "hardness": 58, "use": "everyday-carry", "wish": "shine"},
}


@pytest.fixture(scope="module")
def consultant() -> Consultant:
    return Consultant.open()


@pytest.fixture(params=QUESTIONS.values(), ids=QUESTIONS)
def advice(request: pytest.FixtureRequest, consultant: Consultant) -> Advice:
    return consultant.ask(consultant.question(request.param), sensitivity=False)


def drawings(advice: Advice, consultant: Consultant) -> list[ElementTree.Element]:
    made = (finish_axis(advice, consultant.bench.scales), angle_axis(advice), edge_section(advice))
    return [ElementTree.fromstring(text) for text in made]


def test_title_and_description_are_named(advice: Advice, consultant: Consultant) -> None:
    for svg in drawings(advice, consultant):
        assert svg.get("role") == "img"
        ids = {e.get("id") for e in svg if e.tag in (f"{SVG}title", f"{SVG}desc")}
        assert set((svg.get("aria-labelledby") or "").split()) == ids
        assert all((svg.findtext(f"{SVG}{name}") or "").strip() for name in ("title", "desc"))


def test_description_names_every_rule_with_its_figures(advice: Advice, consultant: Consultant) -> None:
    for target, svg in zip(("finish", "angle"), drawings(advice, consultant), strict=False):
        described = svg.findtext(f"{SVG}desc") or ""
        rows = rows_of(advice, target)
        assert rows
        for row in rows:
            assert row.title in described


def test_no_style_element_or_script_that_a_policy_would_block(advice: Advice, consultant: Consultant) -> None:
    for svg in drawings(advice, consultant):
        assert not [
            e.tag for e in svg.iter() if e.tag.removeprefix(SVG) in ("style", "script", "image", "foreignObject")
        ]
        assert not [e for e in svg.iter() if "style" in e.attrib]


def test_letters_stay_legible_at_340_pixels(advice: Advice, consultant: Consultant) -> None:
    for svg in drawings(advice, consultant):
        width, height = (float(v) for v in (svg.get("viewBox") or "").split()[2:])
        assert width == WIDTH
        for text in svg.iter(f"{SVG}text"):
            assert float(text.get("font-size") or 0) * 340 / width >= 11
            assert 0 <= float(text.get("y") or -1) <= height


def box(text: ElementTree.Element) -> tuple[float, float, float, float]:
    """Return left, right, top and bottom of a text, its letters taken as 0.56 of their size wide."""
    size, x, y = (float(text.get(k) or 0) for k in ("font-size", "x", "y"))
    length = 0.56 * size * len(text.text or "")
    left = {"start": x, "middle": x - length / 2, "end": x - length}[text.get("text-anchor") or "start"]
    return left, left + length, y - 0.75 * size, y + 0.2 * size


def test_texts_neither_overlap_nor_leave_the_picture(advice: Advice, consultant: Consultant) -> None:
    for svg in drawings(advice, consultant):
        texts = [(t.text, box(t)) for t in svg.iter(f"{SVG}text")]
        for words, (left, right, _, _) in texts:
            assert left >= 0 and right <= WIDTH, words
        for n, (words, a) in enumerate(texts):
            for other, b in texts[n + 1 :]:
                apart = a[1] <= b[0] or b[1] <= a[0] or a[3] <= b[2] or b[3] <= a[2]
                assert apart, f"{words!r} over {other!r}"


def test_finish_axis_is_logarithmic_coarse_to_fine(advice: Advice, consultant: Consultant) -> None:
    svg = ElementTree.fromstring(finish_axis(advice, consultant.bench.scales))
    bold = [t for t in svg.iter(f"{SVG}text") if t.get("font-weight") and t.get("text-anchor") == "middle"]
    ticks = [(float(t.text or 0), float(t.get("x") or 0)) for t in bold if re.fullmatch(r"[\d.]+", t.text or "")]
    assert len(ticks) >= 2
    (um1, x1), *_, (um2, x2) = ticks
    assert um1 > um2 and x1 < x2
    scale = (x2 - x1) / math.log(um1 / um2)
    band = advice.finish
    assert band is not None
    bar = next(e for e in svg.iter(f"{SVG}rect") if e.get("class") == "pic-band")
    assert float(bar.get("x") or 0) == pytest.approx(x1 + scale * math.log(um1 / band.high), abs=0.2)
    assert float(bar.get("width") or 0) == pytest.approx(scale * math.log(band.high / band.low), abs=0.2)


def points(d: str) -> list[tuple[float, float]]:
    """Return the corner points of a path of M, L and V commands."""
    found: list[tuple[float, float]] = []
    for command, numbers in re.findall(r"([MLV])([-\d. ]+)", d):
        values = [float(v) for v in numbers.split()]
        found.append((found[-1][0], values[0]) if command == "V" else (values[0], values[1]))
    return found


@pytest.mark.parametrize("thickness", [0.1, 0.4, 2.0])
@pytest.mark.parametrize("present", [None, 8, 30])
def test_section_is_to_scale(consultant: Consultant, thickness: float, present: float | None) -> None:
    raw = {"grade": "440C", "use": "everyday-carry", "edge_thickness": thickness, "present_angle": present}
    advice = consultant.ask(consultant.question(raw), sensitivity=False)
    assert advice.angle is not None
    svg = ElementTree.fromstring(edge_section(advice))
    blade = next(e for e in svg.iter(f"{SVG}path") if e.get("class") == "pic-blade")
    _, shoulder, apex, other, _ = points(blade.get("d") or "")
    # An isosceles wedge: half its width over its height is the tangent of the angle a side.
    slope = math.degrees(math.atan((other[0] - shoulder[0]) / 2 / (apex[1] - shoulder[1])))
    assert slope == pytest.approx(advice.angle.pick, abs=0.2)
    bar = next(iter(svg.iter(f"{SVG}line")))
    label = next(t.text for t in svg.iter(f"{SVG}text") if (t.text or "").endswith(" mm"))
    drawn = float(bar.get("x2") or 0) - float(bar.get("x1") or 0)
    assert drawn / float(label.split()[0]) == pytest.approx((other[0] - shoulder[0]) / thickness, rel=0.01)
    dashed = [e for e in svg.iter(f"{SVG}path") if e.get("class") == "pic-present"]
    assert len(dashed) == (present is not None)


def test_section_without_thickness_says_that_only_the_angle_is_true(consultant: Consultant) -> None:
    svg = ElementTree.fromstring(
        edge_section(consultant.ask(consultant.question(QUESTIONS["razor"]), sensitivity=False))
    )
    assert "only the angle is to scale" in (svg.findtext(f"{SVG}desc") or "")
    assert not [t for t in svg.iter(f"{SVG}text") if (t.text or "").endswith(" mm")]


def test_wrap_keeps_every_word() -> None:
    text = "Very vanadium-rich powder stainless keeps its bite at a medium finish"
    lines = wrap(text, 20)
    assert " ".join(lines) == text and max(map(len, lines)) <= 20
