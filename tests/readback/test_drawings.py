"""forms/*/form.pdf and jigs/*.pdf read back by PyMuPDF: names, radii and angles of the plan are there,
no words stand over others or in the margin, and the section is drawn at the scale it states."""

import re

import pymupdf
import pytest
from conftest import DEMOS, build, read_plan

MM = 72 / 25.4
MARGIN = 10  # mm kept free around every page
NAMES = [spec.stem for spec in DEMOS]
PAPERS = ["a4", "letter", "a3", "148x210"]
# Numbers on the pages have at most two decimals (sizes) or one (angles).
SIZE, ANGLE = 0.0051, 0.051


@pytest.fixture(scope="module", params=[(name, paper) for name in NAMES for paper in PAPERS], ids=str)
def made(request, tmp_path_factory):
    name, paper = request.param
    spec = next(spec for spec in DEMOS if spec.stem == name)
    folder = build(spec, tmp_path_factory.mktemp("drawings"), "--only", "pdf,json", "--paper", paper)
    return folder, read_plan(folder)


def pages_of(folder, plan):
    forms = [folder / "forms" / form["name"] / "form.pdf" for form in plan["forms"]]
    return forms + [folder / "jigs" / f"{jig['run']}.pdf" for jig in plan["jigs"]]


def words_of(path):
    with pymupdf.open(path) as document:
        return re.sub(r"\s+", " ", " ".join(page.get_text() for page in document))


def close(wanted, found, within):
    return any(abs(wanted - float(number)) <= within for number in found)


def test_no_page_is_empty_and_no_words_collide(made):
    paths = pages_of(*made)
    assert paths, "no drawing"
    for path in paths:
        with pymupdf.open(path) as document:
            assert len(document) > 0
            for page in document:
                words = page.get_text("words")
                assert len(words) > 20, f"{path} page {page.number + 1} is empty"
                room = page.rect + (MARGIN * MM - 1, MARGIN * MM - 1, 1 - MARGIN * MM, 1 - MARGIN * MM)
                boxes = []
                for x0, y0, x1, y1, word, *_ in words:
                    # A font's box is higher than its capitals: keep the part that carries ink.
                    high = y1 - y0
                    box = pymupdf.Rect(x0 + 0.1, y0 + 0.25 * high, x1 - 0.1, y1 - 0.25 * high)
                    assert box in room, f"{path}: {word} leaves the page"
                    for other, before in boxes:
                        assert not box.intersects(other), f"{path}: {word} over {before}"
                    boxes.append((box, word))


def test_forms_tell_what_the_plan_has(made):
    folder, plan = made
    assert plan["forms"], "every demo has a form"
    for form in plan["forms"]:
        words = words_of(folder / "forms" / form["name"] / "form.pdf")
        assert form["name"] in words
        angles = re.findall(r"([\d.]+)°", words)
        for bend in form["bends"]:
            assert close(bend["angle_deg"], angles, ANGLE), bend
            assert close(bend["pull_to_deg"], angles, ANGLE), bend
        lengths = re.findall(r"([\d.]+) mm", words)
        for key in ("od_mm", "clr_mm", "finished_clr_mm", "clearance_mm", "hollow_mm"):
            assert close(form[key], lengths, SIZE), (key, form[key])
        for layer in form["layers"]:
            assert re.search(rf"\b{re.escape(layer['name'])} +rim R [\d.]+", words), layer["name"]
            assert f"{form['name']} {layer['name']}" in words, "the engraved name"


def test_jigs_name_every_part_and_bend(made):
    folder, plan = made
    assert plan["jigs"], "every demo has a jig"
    for jig in plan["jigs"]:
        words = words_of(folder / "jigs" / f"{jig['run']}.pdf")
        assert jig["run"] in words
        for part in jig["parts"]:
            assert re.search(rf"\b{re.escape(part['name'])}\b", words, re.IGNORECASE), part["name"]
        angles = re.findall(r"([\d.]+)°", words)
        for bend in jig["bends"]:
            if bend["least_error_deg"] is not None:
                # Rounded up: a smaller error may still drop in. The plan has it to four decimals.
                over = [float(angle) - bend["least_error_deg"] for angle in angles]
                assert any(-1e-4 <= more <= 0.1001 for more in over), (jig["run"], bend)


def diameter(ends):
    """Of the circle that the ends of curves lie on; 0 where they lie on none."""
    a, b, c = ends[0], ends[1], ends[2]
    turned = ((b - a) * (c - a).conjugate()).imag
    radius = abs(a - b) * abs(b - c) * abs(c - a) / (2 * abs(turned)) if turned else 0.0
    side = (c - a) / (b - a) if turned else 0.0
    centre = a + (b - a) * (side * (side.conjugate() - 1)) / (side.conjugate() - side) if turned else a
    return 2 * radius if all(abs(abs(end - centre) - radius) < 0.01 for end in ends) else 0.0


def test_the_section_keeps_its_scale(made):
    folder, plan = made
    for form in plan["forms"]:
        with pymupdf.open(folder / "forms" / form["name"] / "form.pdf") as document:
            page = next(page for page in document if "Full circle" in page.get_text())
            text = re.sub(r"\s+", " ", page.get_text())
            above, below = re.search(r"Scale (\d+) : (\d+)\. Full circle", text).groups()
            scale = int(above) / int(below)
            found = []
            for path in page.get_drawings():
                curves = [item for item in path["items"] if item[0] == "c"]
                if len(curves) >= 4 and len(curves) == len(path["items"]):
                    found.append(diameter([complex(*curve[1]) for curve in curves]) / MM / scale)
            for wanted in (form["od_mm"], form["od_mm"] + 2 * form["clearance_mm"]):
                assert any(abs(wanted - size) < 0.01 for size in found), (wanted, found)
