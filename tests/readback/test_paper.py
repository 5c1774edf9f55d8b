"""Templates read back by PyMuPDF: sizes, scale bars, margins, words, joined sheets."""

import json
import math
import re
import xml.etree.ElementTree as ElementTree

import numpy
import pymupdf
import pytest
import yaml
from conftest import DEMOS, PROGRAM, ROOT, build, run_program

POINT = 25.4 / 72.0
MARGIN = 10.0
PAPERS = {
    "a4": (210, 297),
    "a3": (297, 420),
    "a2": (420, 594),
    "letter": (215.9, 279.4),
    "legal": (215.9, 355.6),
    "tabloid": (279.4, 431.8),
    "310x440": (310, 440),
    "18x24in": (457.2, 609.6),
}
DASH_DOT = 4
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def papers(tmp_path_factory):
    """The templates of one demo on every paper."""
    folder = tmp_path_factory.mktemp("papers")
    spec = ROOT / "specs" / "reading-room.yaml"
    return {name: build(spec, folder / name, "--only", "pdf", "--paper", name) for name in PAPERS}


OPEN = {}


def pages(folder):
    """Pages of the templates; their document stays open, since pages do not hold it."""
    path = folder / "templates.pdf"
    if path not in OPEN:
        OPEN[path] = pymupdf.open(path)
    return list(OPEN[path])


def all_folders(demos, papers):
    return [*demos.values(), *papers.values()]


class Curve:
    """A line or a Bezier piece on a page in mm, y up, with its pen."""

    def __init__(self, points, width, dashes, dash=0.0):
        """`dashes` is how many numbers the pattern has, `dash` the first of them in mm."""
        self.points, self.width, self.dashes, self.dash = points, width, dashes, dash

    def at(self, t):
        s = 1.0 - t
        if len(self.points) == 2:
            weights = (s, t)
        else:
            weights = (s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t)
        return tuple(sum(w * p[i] for w, p in zip(weights, self.points)) for i in (0, 1))

    @property
    def line(self):
        return len(self.points) == 2

    @property
    def length(self):
        return math.dist(self.points[0], self.points[-1])

    def samples(self, step):
        count = max(1, math.ceil(self.length / step))
        return [self.at(i / count) for i in range(count + 1)]

    @property
    def chain(self):
        """Its points: two of a line, so many of a Bezier piece that no chord matters."""
        return list(self.points) if self.line else self.samples(0.4)

    def moved(self, dx, dy):
        return Curve([(x + dx, y + dy) for x, y in self.points], self.width, self.dashes, self.dash)


def curves(page):
    """Everything stroked on a page."""
    high = page.rect.height
    for path in page.get_drawings():
        width = round((path["width"] or 0) * POINT, 3)
        numbers = re.findall(r"[\d.]+", path["dashes"].split("]")[0])
        for item in path["items"]:
            assert item[0] in "lc", f"only lines and curves are drawn, not {item[0]}"
            points = [(p.x * POINT, (high - p.y) * POINT) for p in item[1:]]
            yield Curve(points, width, len(numbers), float(numbers[0]) * POINT if numbers else 0.0)


def words(page):
    """Spans as (text, tight box in mm of a y-down page)."""
    for block in page.get_text("dict")["blocks"]:
        for line in block.get("lines", []):
            dx, dy = line["dir"]
            for span in line["spans"]:
                size = span["size"] * POINT
                x, y = (v * POINT for v in span["origin"])
                long = (
                    (span["bbox"][2] - span["bbox"][0]) if abs(dx) > 0.5 else (span["bbox"][3] - span["bbox"][1])
                ) * POINT
                corners = [
                    (x + dx * along + dy * up, y + dy * along - dx * up)
                    for along in (0.0, long)
                    for up in (0.718 * size, -0.207 * size)
                ]
                xs, ys = zip(*corners)
                yield span["text"], (min(xs), min(ys), max(xs), max(ys))


def overlap(a, b, slack=0.02):
    return a[0] < b[2] - slack and b[0] < a[2] - slack and a[1] < b[3] - slack and b[1] < a[3] - slack


def bar_lengths(page):
    """Lengths of lines of 90 to 110 mm drawn with the scale bars' pen, per axis."""
    found = {"across": [], "up": []}
    for curve in curves(page):
        if curve.line and curve.width == 0.2 and 90 < curve.length < 110:
            (x0, y0), (x1, y1) = curve.points
            if abs(y1 - y0) < 1e-6:
                found["across"].append(curve.length)
            if abs(x1 - x0) < 1e-6:
                found["up"].append(curve.length)
    return found


def test_every_sheet_has_true_bars_along_both_axes(demos, papers):
    count = 0
    for folder in all_folders(demos, papers):
        for page in pages(folder):
            for axis, lengths in bar_lengths(page).items():
                for wanted in (100.0, 101.6):
                    assert any(abs(l - wanted) < 0.01 for l in lengths), (folder, page.number, axis, lengths)
            text = page.get_text()
            assert "Print at 100 %: 100 mm must read 99.5 to 100.5." in text
            assert text.count("100 mm\n") == 2 and text.count("4 in\n") == 2
            count += 1
    assert count > 40


def test_print_dialogues_are_told_not_to_scale(demos):
    for folder in demos.values():
        for name, wanted in (("templates.pdf", True), ("overview.pdf", False), ("worksheet.pdf", False)):
            assert (folder / name).read_bytes().startswith(b"%PDF-1.7")
            with pymupdf.open(folder / name) as document:
                preferences = document.xref_get_key(document.pdf_catalog(), "ViewerPreferences")[1]
                assert ("/PrintScaling/None" in preferences) == wanted, (folder, name)


def middles(page):
    """Pieces of the tube's centreline on a sheet; the legend's sample is shorter."""
    return [c for c in curves(page) if c.dashes == DASH_DOT and c.width == 0.1 and (c.length > 12 or not c.line)]


def test_every_sheet_has_tube(demos, papers):
    for folder in all_folders(demos, papers):
        for page in pages(folder):
            assert middles(page), (folder, page.number)
            assert "All lengths in mm." in page.get_text()


def test_thin_full_lines_that_run_far_are_the_tube(demos, papers):
    """Check sizes and legs are broken lines, and a check size has its words on every sheet."""
    dotted = 0
    for folder in all_folders(demos, papers):
        for page in pages(folder):
            drawn = list(curves(page))
            floor = min(y for _, y in marks(page).values())
            for curve in drawn:
                inside = curve.line and curve.width == 0.1 and curve.at(0.5)[1] > floor
                assert not (inside and curve.dashes == 0 and curve.length > 40), (folder, page.number)
            checks = [c for c in drawn if c.width == 0.1 and c.dashes == 2 and c.dash < 1 and c.length > 12]
            if checks:
                dotted += 1
                text = page.get_text()
                assert re.search(r"^(extension of )?\d+\.\d (end to end|across|up)$", text, re.M), (folder, page.number)
    assert dotted > 10


def test_nothing_covers_the_centreline(demos, papers):
    """No other line runs along a straight of the centreline, between the tube's edges."""
    for folder in all_folders(demos, papers):
        for page in pages(folder):
            drawn = list(curves(page))
            straights = [c for c in middles(page) if c.line]
            # The legs of a bend leave the centreline at its tangent points and touch no straight.
            others = [c for c in drawn if c.line and c.width == 0.1 and c.dashes != DASH_DOT and c.length > 12]
            for straight in straights:
                (ax, ay), (bx, by) = straight.points
                ux, uy = (bx - ax) / straight.length, (by - ay) / straight.length
                for other in others:
                    on = [
                        (x, y)
                        for x, y in other.samples(0.5)
                        if abs((x - ax) * uy - (y - ay) * ux) < 0.3
                        and 1 < (x - ax) * ux + (y - ay) * uy < straight.length - 1
                    ]
                    assert len(on) < 8, (folder, page.number, other.points)


def test_papers_have_their_sizes(papers):
    for name, (width, height) in PAPERS.items():
        sizes = {
            tuple(sorted((page.rect.width * POINT, page.rect.height * POINT))) for page in pages(papers[name])
        }
        assert sizes, name
        for size in sizes:
            assert size == pytest.approx((width, height), abs=0.001), name


def test_nothing_is_drawn_in_the_margin(demos, papers):
    for folder in all_folders(demos, papers):
        for page in pages(folder):
            wide, high = page.rect.width * POINT, page.rect.height * POINT
            for curve in curves(page):
                for x, y in curve.samples(2.0):
                    assert MARGIN - 1e-3 <= x <= wide - MARGIN + 1e-3, (folder, page.number)
                    assert MARGIN - 1e-3 <= y <= high - MARGIN + 1e-3, (folder, page.number)
            for text, (x0, y0, x1, y1) in words(page):
                inside = x0 >= MARGIN - 0.01 and y0 >= MARGIN - 0.01
                assert inside and x1 <= wide - MARGIN + 0.01 and y1 <= high - MARGIN + 0.01, (text, page.number)


def test_no_words_run_across_others(demos, papers):
    for folder in all_folders(demos, papers):
        for page in pages(folder):
            boxes = list(words(page))
            assert len(boxes) > 10
            for index, (text, box) in enumerate(boxes):
                for other, other_box in boxes[index + 1 :]:
                    assert not overlap(box, other_box), (folder, page.number, text, other)


def test_layout_knows_how_wide_words_are(demos):
    """The program's table of widths against the reader's own copy of the faces."""
    checked = 0
    faces = {None: pymupdf.Font("helv"), "bold": pymupdf.Font("hebo")}
    for folder in demos.values():
        for file in folder.glob("runs/*/template.svg"):
            for element in ElementTree.parse(file).iter(f"{SVG}text"):
                face = faces[element.get("font-weight")]
                long = face.text_length(element.text, float(element.get("font-size")))
                assert float(element.get("textLength")) == pytest.approx(long, rel=1e-4), element.text
                checked += 1
    assert checked > 100


def planes_of(spec):
    """Run names of a spec with the number of templates each should have, from plan.json's rotations."""
    result = {}
    for run in spec["runs"]:
        planes = 1
        for bend in run["bends"][1:]:
            turn = abs(bend["rotation_deg"])
            planes += 0 if min(turn, 180 - turn) < 0.01 else 1
        result[run["name"]] = planes
    return result


def test_every_plane_has_a_template_named_as_on_the_worksheet(demos):
    kinds = set()
    for folder in demos.values():
        labels = [m for page in pages(folder) for m in re.findall(r"^(.*): sheet ([A-Z]+\d+) of (\d+)$", page.get_text(), re.M)]
        for run, count in planes_of(json.loads((folder / "plan.json").read_text())).items():
            kinds.add(count > 1)
            names = [run] if count == 1 else [f"{run} plane {n + 1}" for n in range(count)]
            for name in names:
                own = [(tile, total) for label, tile, total in labels if label == name]
                assert own and len(set(own)) == len(own) == int(own[0][1]), name
    assert kinds == {True, False}, "the demos have planar runs and runs in space"


def tube_of(folder, label):
    plan = json.loads((folder / "plan.json").read_text())
    return next(run for run in plan["runs"] if label == run["name"] or label.startswith(run["name"] + " plane "))


def far(points, pieces):
    """The largest distance from some points to the nearest of some chains of points."""
    points = numpy.array(points).reshape(-1, 1, 2)
    starts = numpy.array([p for chain in pieces for p in chain[:-1]])
    steps = numpy.array([p for chain in pieces for p in chain[1:]]) - starts
    square = numpy.maximum((steps**2).sum(axis=1), 1e-30)
    worst = 0.0
    for part in numpy.array_split(points, 1 + len(points) // 200):
        along = ((part - starts) * steps).sum(axis=2) / square
        nearest = starts + numpy.clip(along, 0.0, 1.0)[..., None] * steps
        worst = max(worst, float(numpy.sqrt(((part - nearest) ** 2).sum(axis=2)).min(axis=1).max()))
    return worst


def label_of(page):
    match = re.search(r"^(.*): sheet ([A-Z]+\d+) of (\d+)$", page.get_text(), re.M)
    assert match, page.number
    return match.group(1), match.group(2), int(match.group(3))


def test_edges_lie_half_a_diameter_off_the_centreline(demos):
    """On straights and in bends, on both sides, on every sheet."""
    sheets = 0
    for folder in demos.values():
        for page in pages(folder):
            run = tube_of(folder, label_of(page)[0])
            radius = run["tube"]["od_mm"] / 2
            drawn = list(curves(page))
            edges = [c.chain for c in drawn if c.width == 0.15]
            middle = [c for c in drawn if c.dashes == DASH_DOT and c.width == 0.1 and c.length > 12]
            wanted = []
            for curve in middle:
                for t in (0.3, 0.5, 0.7):
                    (x, y), (ax, ay), (bx, by) = curve.at(t), curve.at(t - 1e-4), curve.at(t + 1e-4)
                    long = math.hypot(bx - ax, by - ay)
                    for side in (radius, -radius):
                        wanted.append((x - (by - ay) / long * side, y + (bx - ax) / long * side))
            # Beyond the frame the next sheet has them.
            ends = [point for chain in edges for point in chain]
            left, right = min(x for x, _ in ends), max(x for x, _ in ends)
            low, high = min(y for _, y in ends), max(y for _, y in ends)
            inside = [(x, y) for x, y in wanted if left <= x <= right and low <= y <= high]
            assert len(inside) > 0.9 * len(wanted), (folder, page.number)
            if inside:
                assert far(inside, edges) < 0.01, (folder, page.number)
                sheets += 1
    assert sheets > 15


def marks(page):
    """Registration marks by number: circles of their pen with the nearest number."""
    circles = {}
    for path in page.get_drawings():
        kinds = {item[0] for item in path["items"]}
        width = (path["width"] or 0) * POINT
        if kinds == {"c"} and abs(width - 0.15) < 1e-3 and path["rect"].width * POINT < 4:
            rect = path["rect"]
            centre = ((rect.x0 + rect.x1) / 2 * POINT, (page.rect.height - (rect.y0 + rect.y1) / 2) * POINT)
            circles[centre] = None
    high = page.rect.height * POINT
    found = {}
    for text, (x0, y0, x1, y1) in words(page):
        if text.strip().isdigit():
            middle = ((x0 + x1) / 2, high - (y0 + y1) / 2)
            for centre in circles:
                if math.dist(centre, middle) < 5.5:
                    found[int(text)] = centre
    return found


def assembled(folder, label):
    """All sheets of a template, shifted so that marks of one number meet; asserts that they do."""
    sheets = [page for page in pages(folder) if label_of(page)[0] == label]
    assert len(sheets) == label_of(sheets[0])[2]
    placed, at = [], {}
    waiting = list(sheets)
    while waiting:
        for page in waiting:
            own = marks(page)
            assert len(own) == 4, (label, page.number, own)
            shared = [n for n in own if n in at]
            if not at or len(shared) >= 2:
                break
        else:
            pytest.fail(f"{label}: sheets that share no marks")
        dx, dy = (0.0, 0.0) if not at else tuple(at[shared[0]][i] - own[shared[0]][i] for i in (0, 1))
        for number, (x, y) in own.items():
            here = (x + dx, y + dy)
            assert math.dist(at.setdefault(number, here), here) < 0.01, (label, number)
        placed.extend(c.moved(dx, dy) for c in curves(page))
        waiting.remove(page)
    return sheets, placed, at


def svg_curve(element):
    """Points along an element of a template.svg, y up."""
    if element.tag == f"{SVG}line":
        x0, y0, x1, y1 = (float(element.get(k)) for k in ("x1", "y1", "x2", "y2"))
        return [[(x0, -y0), (x1, -y1)]]
    if element.tag != f"{SVG}path":
        return []
    chains, at = [], None
    for command, numbers in re.findall(r"([MLAZ])([^MLAZ]*)", element.get("d")):
        v = [float(n) for n in numbers.split()]
        if command == "M":
            at = (v[0], -v[1])
        elif command == "L":
            chains.append([at, (v[0], -v[1])])
            at = chains[-1][-1]
        elif command == "A":
            to = (v[5], -v[6])
            chains.append(arc(at, to, v[0], left=v[4] == 0))
            at = to
    return chains


def arc(a, b, radius, left):
    """Points of the shorter arc from a to b that turns left or right (y up)."""
    half = math.dist(a, b) / 2
    angle = 2 * math.asin(min(1.0, half / radius))
    ux, uy = (b[0] - a[0]) / (2 * half), (b[1] - a[1]) / (2 * half)
    off = math.sqrt(max(0.0, radius * radius - half * half)) * (1 if left else -1)
    cx, cy = (a[0] + b[0]) / 2 - uy * off, (a[1] + b[1]) / 2 + ux * off
    start = math.atan2(a[1] - cy, a[0] - cx)
    sweep = angle if left else -angle
    count = max(8, math.ceil(angle * radius / 0.5))
    turned = (start + sweep * i / count for i in range(count + 1))
    return [(cx + radius * math.cos(t), cy + radius * math.sin(t)) for t in turned]


def role(tree, name):
    return [c for g in tree.iter(f"{SVG}g") if g.get("class") == name for e in g for c in svg_curve(e)]


def densely(chains, step=2.0):
    for chain in chains:
        for (x0, y0), (x1, y1) in zip(chain, chain[1:]):
            count = max(1, math.ceil(math.dist((x0, y0), (x1, y1)) / step))
            yield from ((x0 + (x1 - x0) * i / count, y0 + (y1 - y0) * i / count) for i in range(count + 1))


def rigid(a, b, c, d):
    """The motion that takes a to c and b to d, as a function; both pairs are equally far apart."""
    turn = math.atan2(d[1] - c[1], d[0] - c[0]) - math.atan2(b[1] - a[1], b[0] - a[0])
    cos, sin = math.cos(turn), math.sin(turn)

    def move(p):
        x, y = p[0] - a[0], p[1] - a[1]
        return (c[0] + cos * x - sin * y, c[1] + sin * x + cos * y)

    return move


def check_joined(folder, run):
    """The sheets of a planar run, joined by their marks, against its untiled template."""
    sheets, placed, at = assembled(folder, run)
    tree = ElementTree.parse(folder / "runs" / run / "template.svg")
    middle = role(tree, "centreline")[:-1]  # the last one is the legend's
    ends = (middle[0][0], middle[-1][-1])
    # Trim lines are the only thick lines in the windows; the window is bounded by its marks.
    low = [min(p[i] for p in at.values()) - 5 for i in (0, 1)]
    high = [max(p[i] for p in at.values()) + 5 for i in (0, 1)]
    thick = [c for c in placed if c.width == 0.4 and c.length > 8 and all(low[i] < c.at(0.5)[i] < high[i] for i in (0, 1))]
    stops = {tuple(round(v, 1) for v in c.at(0.5)): c.at(0.5) for c in thick}
    pdf_edges = [c.chain for c in placed if c.width == 0.15]
    pdf_middle = [c.chain for c in placed if c.dashes == DASH_DOT and c.width == 0.1]
    apart = math.dist(*ends)
    fits = []
    for c in stops.values():
        for d in stops.values():
            if abs(math.dist(c, d) - apart) < 0.05 and apart > 1:
                move = rigid(*ends, c, d)
                fits.append((far([move(p) for p in densely(middle)], pdf_middle), move))
    assert fits, "both ends are found on the sheets"
    worst, move = min(fits, key=lambda f: f[0])
    assert worst < 0.05, f"{run}: centreline {worst} mm off"
    edges = role(tree, "tube-edge")[:-1]
    worst = far([move(p) for p in densely(edges)], pdf_edges)
    assert worst < 0.05, f"{run}: edges {worst} mm off"
    # And nothing of the tube is on the sheets that is not in the untiled drawing.
    own = [[move(p) for p in chain] for chain in middle]
    legend = [c for c in placed if c.dashes == DASH_DOT and c.length < 12]
    for curve in placed:
        if curve.dashes == DASH_DOT and curve.width == 0.1 and curve not in legend:
            assert far(curve.samples(3.0), own) < 0.05
    return len(sheets)


def planar(folder):
    counts = planes_of(json.loads((folder / "plan.json").read_text()))
    bends = {run["name"]: len(run["bends"]) for run in json.loads((folder / "plan.json").read_text())["runs"]}
    return [run for run, count in counts.items() if count == 1 and bends[run] > 0]


def test_sheets_joined_by_their_marks_give_the_untiled_drawing(demos):
    joined = [check_joined(folder, run) for folder in demos.values() for run in planar(folder)]
    assert sum(count > 1 for count in joined) >= 2, "some demo runs take several sheets"


BIG = {
    "format": 1,
    "title": "Big offset",
    "units": "mm",
    "tube": {"od": 22, "wall": 1.0, "material": "copper", "temper": "soft"},
    "bender": {"name": "form", "clr": 160, "grip": 40, "lead_out": 20, "max_angle": 180},
    "runs": {
        "big": {
            "bends": [
                {"length": 310, "rotation": 0, "angle": 75},
                {"length": 240, "rotation": 180, "angle": 130},
                {"length": 90, "rotation": 0, "angle": 40},
            ],
            "end_length": 220,
        }
    },
}


def test_a_large_run_joins_too(tmp_path):
    spec = tmp_path / "big.yaml"
    spec.write_text(yaml.safe_dump(BIG, sort_keys=False))
    for paper in ("a4", "letter", "210x250"):
        folder = build(spec, tmp_path / paper, "--only", "pdf,svg,json", "--paper", paper)
        assert check_joined(folder, "big") >= 6, paper


def test_marks_are_clear_of_the_edge(demos):
    for folder in demos.values():
        for page in pages(folder):
            wide, high = page.rect.width * POINT, page.rect.height * POINT
            for x, y in marks(page).values():
                # Arms of 2.8 mm.
                assert min(x, y, wide - x, high - y) - 2.8 >= 12.0 - 1e-3


def test_a_printer_that_shrinks_is_cancelled(tmp_path):
    spec = ROOT / "specs" / "lamp-arm.yaml"
    folder = build(spec, tmp_path / "out", "--only", "pdf,svg,json", "--printer-scale", "99.6,100.2")
    for page in pages(folder):
        lengths = bar_lengths(page)
        for axis, measured in (("across", 99.6), ("up", 100.2)):
            for wanted in (100.0, 101.6):
                printed = [l * measured / 100.0 for l in lengths[axis]]
                assert any(abs(p - wanted) < 0.01 for p in printed), (axis, lengths)
        text = " ".join(page.get_text().split())
        # The whole note, to its last word, whatever else the title block has to say.
        assert re.search(r"Stretched 1.0040 x 0.9980 for a printer .* 99.80 long, on paper 100\.", text), text
        run = tube_of(folder, label_of(page)[0])
        radius = run["tube"]["od_mm"] / 2
        # As the printer will put it on paper.
        paper = [
            Curve([(x * 0.996, y * 1.002) for x, y in c.points], c.width, c.dashes) for c in curves(page)
        ]
        edges = [c.chain for c in paper if c.width == 0.15]
        middle = [c for c in paper if c.dashes == DASH_DOT and c.width == 0.1 and c.length > 12]
        assert middle
        for curve in middle:
            (x, y), (ax, ay), (bx, by) = curve.at(0.5), curve.at(0.499), curve.at(0.501)
            long = math.hypot(bx - ax, by - ay)
            for side in (radius, -radius):
                point = (x - (by - ay) / long * side, y + (bx - ax) / long * side)
                assert far([point], edges) < 0.01


def test_svg_says_its_size_in_millimetres(demos):
    for folder in demos.values():
        for file in folder.glob("runs/*/template.svg"):
            root = ElementTree.parse(file).getroot()
            box = [float(v) for v in root.get("viewBox").split()]
            assert root.get("width") == f"{box[2]:g}mm" and root.get("height") == f"{box[3]:g}mm", file
            lengths = [math.dist(*c) for c in role(root, "scale")]
            assert sum(abs(l - 100) < 1e-4 for l in lengths) == 2 and sum(abs(l - 101.6) < 1e-4 for l in lengths) == 2


def test_too_many_sheets_are_left_out_and_nothing_else(tmp_path):
    import subprocess

    spec = tmp_path / "long.yaml"
    long = json.loads(json.dumps(BIG))
    long["runs"]["big"]["end_length"] = 30_000
    spec.write_text(yaml.safe_dump(long, sort_keys=False))
    out = tmp_path / "out"
    result = subprocess.run([PROGRAM, "build", spec, "--out", out], capture_output=True, text=True, check=False)
    assert result.returncode == 0
    assert "too-many-sheets" in result.stderr and "sheets" in result.stderr and "--paper" in result.stderr, result.stderr
    assert not (out / "templates.pdf").exists()
    for file in ("runs/big/template.svg", "worksheet.pdf", "overview.pdf", "assembly.step", "plan.json"):
        assert (out / file).exists(), file
    strict = [PROGRAM, "build", spec, "--out", tmp_path / "strict", "--strict"]
    assert subprocess.run(strict, capture_output=True, text=True, check=False).returncode == 1
    assert not (tmp_path / "strict").exists()


def test_same_input_same_bytes(demos, tmp_path):
    for spec in DEMOS[:1]:
        again = build(spec, tmp_path / spec.stem)
        for name in ("templates.pdf", "overview.pdf", "worksheet.pdf"):
            assert (again / name).read_bytes() == (demos[spec.stem] / name).read_bytes()
        for file in again.glob("runs/*/template.svg"):
            assert file.read_bytes() == (demos[spec.stem] / file.relative_to(again)).read_bytes()
