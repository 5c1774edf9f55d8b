"""overview.svg and overview.pdf of every demo: both readable, both the same drawing, every run and
component named, nothing outside the page, no words over words."""

import json
import re
import xml.etree.ElementTree as ET

import pymupdf
import pytest
import yaml
from conftest import DEMOS, build

SVG = "{http://www.w3.org/2000/svg}"
MM = 72 / 25.4


def svg_words(path):
    return [element.text for element in ET.parse(path).getroot().iter(f"{SVG}text")]


def page_spans(path):
    [page] = pymupdf.open(path)
    lines = [line for block in page.get_text("dict")["blocks"] for line in block.get("lines", [])]
    return page, [span for line in lines for span in line["spans"] if span["text"].strip()]


def test_the_page_is_a3_lying(demos):
    for out in demos.values():
        page, _ = page_spans(out / "overview.pdf")
        assert (page.rect.width / MM, page.rect.height / MM) == pytest.approx((420, 297), abs=0.01)
        root = ET.parse(out / "overview.svg").getroot()
        assert (root.get("width"), root.get("height")) == ("420mm", "297mm")
        assert len(root.get("viewBox").split()) == 4


def test_every_run_and_every_component_in_sight_is_named(demos):
    for stem, out in demos.items():
        spec = yaml.safe_load(next(d for d in DEMOS if d.stem == stem).read_text(encoding="utf-8"))
        svg = svg_words(out / "overview.svg")
        for name in spec["runs"]:
            # In the legend and in at least one picture.
            assert svg.count(name) >= 2, (stem, name)
        for name in spec.get("components") or {}:
            assert name in svg, (stem, name)


def test_pdf_and_svg_hold_the_same_words(demos):
    for out in demos.values():
        _, spans = page_spans(out / "overview.pdf")
        pdf = sorted("".join(span["text"] for span in spans).replace(" ", ""))
        svg = sorted("".join(svg_words(out / "overview.svg")).replace(" ", ""))
        assert pdf == svg


def test_four_views_with_scale_and_projection(demos):
    for out in demos.values():
        words = svg_words(out / "overview.svg")
        for view in ("front", "top", "left side", "isometric"):
            assert any(re.fullmatch(rf"{view} \d+(\.\d+)?:\d+(\.\d+)?", w) for w in words), view
        assert "first-angle projection" in words
        assert [words.count(axis) for axis in "XYZ"] == [4, 4, 4]


def test_no_words_over_words_and_none_outside(demos):
    for stem, out in demos.items():
        page, spans = page_spans(out / "overview.pdf")
        boxes = []
        for span in spans:
            box = pymupdf.Rect(span["bbox"])
            # The reader's box has the font's full height; what is inked is less.
            inked = pymupdf.Rect(box.x0, span["origin"][1] - 0.72 * span["size"], box.x1, span["origin"][1] + 0.2 * span["size"])
            assert page.rect.contains(inked), (stem, span["text"])
            for other, text in boxes:
                shared = inked & other
                assert shared.is_empty or shared.width < 0.05 or shared.height < 0.05, (stem, span["text"], text)
            boxes.append((inked, span["text"]))
        for drawn in page.get_drawings():
            assert page.rect.contains(drawn["rect"]), stem


def test_scale_bar_has_its_length(demos):
    """The bar's line on the page, times the scale of the flat views, is the length written beside it."""
    for stem, out in demos.items():
        root = ET.parse(out / "overview.svg").getroot()
        bars = [
            line
            for group in root.iter(f"{SVG}g")
            if group.get("class") == "scale"
            for line in group.iter(f"{SVG}line")
            if line.get("y1") == line.get("y2")
        ]
        [bar] = bars
        long = float(bar.get("x2")) - float(bar.get("x1"))
        words = svg_words(out / "overview.svg")
        [length] = [float(w.split()[0]) for w in words if re.fullmatch(r"[\d.]+ mm", w)]
        [scale] = [w.split()[-1] for w in words if w.startswith("front ")]
        page, scene = map(float, scale.split(":"))
        assert long == pytest.approx(length * page / scene, abs=1e-3), stem


def test_small_enough_to_look_at(demos):
    for out in demos.values():
        assert (out / "overview.svg").stat().st_size < 1_000_000
        assert (out / "overview.pdf").stat().st_size < 1_000_000


@pytest.mark.parametrize("count", [1, 30])
def test_one_straight_and_thirty_runs(tmp_path, count):
    runs = {
        f"run-{n}": {"from": [0, 30 * n, 0], "to": [400, 30 * n, 0], "corners": []} for n in range(count)
    }
    spec = {
        "format": 1,
        "tube": {"od": 15, "wall": 1, "material": "copper", "temper": "soft"},
        "bender": {"name": "t", "clr": 50, "grip": 0, "lead_out": 0},
        "runs": runs,
    }
    file = tmp_path / "flat.yaml"
    file.write_text(json.dumps(spec), encoding="utf-8")
    out = build(file, tmp_path / "out", "--only", "svg,pdf")
    words = svg_words(out / "overview.svg")
    for name in runs:
        assert name in words
    test_no_words_over_words_and_none_outside({"flat": out})
