"""Wrap strips read back by PyMuPDF and from the SVG, against the plan and against the spec itself."""

import math
import re
import xml.etree.ElementTree as ElementTree

import pymupdf
import pytest
import yaml
from conftest import DEMOS, build, read_plan
from test_paper import MARGIN, POINT, SVG, overlap, role, words

# Pen of a tool's mark, mm.
MARK = 0.7

RANDOM = {
    "format": 1,
    "title": "Strips",
    "units": "mm",
    "tube": {"od": 12, "wall": 1.0, "material": "copper", "temper": "soft"},
    "bender": {"name": "bench", "clr": 42, "grip": 20, "lead_out": 10, "mark": "middle", "datum": 4.5},
    "runs": {
        "wild": {
            "bends": [
                {"length": 96, "rotation": 0, "angle": 70},
                {"length": 61, "rotation": 77, "angle": 100},
                {"length": 55.5, "rotation": -141, "angle": 33},
                {"length": 140, "rotation": 163, "angle": 88},
            ],
            "end_length": 83,
            "allowance": {"start": 14, "end": 9},
        },
        "small": {
            "tube": {"od": 6, "wall": 1.0, "material": "copper", "temper": "soft"},
            "bender": {"name": "small", "clr": 18, "grip": 10, "lead_out": 5, "mark": "end", "datum": -2},
            "bends": [
                {"length": 40, "rotation": 90, "angle": 90},
                {"length": 12, "rotation": 180, "angle": 15},
            ],
            "end_length": 40,
        },
    },
}


def spec_of(tmp_path, spec, name="strips"):
    path = tmp_path / f"{name}.yaml"
    path.write_text(yaml.safe_dump(spec, sort_keys=False))
    return path


@pytest.fixture(scope="module")
def wild(tmp_path_factory):
    """Made-up runs on small paper."""
    folder = tmp_path_factory.mktemp("strips")
    return build(spec_of(folder, RANDOM), folder / "out", "--only", "pdf,svg,json", "--paper", "200x250")


def folders(demos, wild):
    return [*demos.values(), wild]


def runs_with_strips(folder):
    return [run for run in read_plan(folder)["runs"] if (folder / "runs" / run["name"] / "strip.svg").exists()]


def marked(run):
    """What a run's strip is to show: (bends in order, distance of the strip's zero), for its better end."""
    if run["order"]["better"] != "other end":
        return run["bends"]
    anneal = {bend["number"]: bend for bend in run["bends"]}
    cut = run["cut_length_mm"]
    result = []
    for other in run["from_other_end"]:
        bend = dict(anneal[other["number"]], **other)
        if bend["anneal_from_mm"] is not None:
            bend["anneal_from_mm"], bend["anneal_to_mm"] = cut - bend["anneal_to_mm"], cut - bend["anneal_from_mm"]
        result.append(bend)
    return result


def upright_lines(tree, name):
    """Stations of the lines across a strip, from its left edge, and that edge; the legend's sample lies flat."""
    return sorted(a[0] for (a, b) in role(tree, name) if abs(a[0] - b[0]) < 1e-9)


def outline(tree):
    """Left, right, flap's edge, upper edge."""
    points = [p for chain in role(tree, "cut") for p in chain]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), max(xs), min(ys), max(ys)


def on_tube(stations, run):
    return [s for s in stations if -1e-6 <= s <= run["cut_length_mm"] + 1e-6]


def test_marks_lie_at_their_lengths(demos, wild):
    checked = 0
    for folder in folders(demos, wild):
        for run in runs_with_strips(folder):
            tree = ElementTree.parse(folder / "runs" / run["name"] / "strip.svg")
            left, right, _, _ = outline(tree)
            assert right - left == pytest.approx(run["cut_length_mm"], abs=0.05)
            bends = marked(run)
            for name, keys in (
                ("tool-mark", ["mark_mm"]),
                ("tangent", ["start_mm", "end_mm"]),
                ("middle", ["middle_mm"]),
                ("anneal", ["anneal_from_mm", "anneal_to_mm"]),
            ):
                wanted = sorted(on_tube([b[key] for b in bends for key in keys if b[key] is not None], run))
                found = [x - left for x in upright_lines(tree, name)]
                assert found == pytest.approx(wanted, abs=0.05), (run["name"], name)
                checked += len(wanted)
    assert checked > 60


def test_a_strip_goes_once_round_the_tube(demos, wild, tmp_path):
    for folder in folders(demos, wild):
        for run in runs_with_strips(folder):
            tree = ElementTree.parse(folder / "runs" / run["name"] / "strip.svg")
            _, _, _, top = outline(tree)
            # The fold of the flap is the only flat line of its pen as long as the tube.
            fold = [a[1] for a, b in role(tree, "dimension") if abs(abs(a[0] - b[0]) - run["cut_length_mm"]) < 1e-3]
            assert len(fold) == 1
            assert top - fold[0] == pytest.approx(math.pi * (run["tube"]["od_mm"] + 0.1), abs=0.02)
    thick = build(spec_of(tmp_path, RANDOM), tmp_path / "out", "--only", "svg,json", "--paper-thickness", "0.3")
    tree = ElementTree.parse(thick / "runs" / "wild" / "strip.svg")
    fold = max((abs(a[0] - b[0]), a[1]) for a, b in role(tree, "dimension"))[1]
    assert outline(tree)[3] - fold == pytest.approx(math.pi * 12.3, abs=0.02)


def insides(tree):
    """Heights of the lines along the insides of bends by where they end; the legend's sample is 9.6 long at the foot."""
    low = outline(tree)[2]
    return {round(max(a[0], b[0]) - outline(tree)[0], 2): a[1] for a, b in role(tree, "inside") if a[1] > low}


def test_insides_lie_at_their_clock_angles(wild):
    """Angles from the spec itself: the turns after the first bend's, added up, clockwise down the strip."""
    for name, spec in RANDOM["runs"].items():
        run = next(r for r in read_plan(wild)["runs"] if r["name"] == name)
        if run["order"]["better"] == "other end":
            rows = list(reversed(spec["bends"]))
            turns = [0.0] + [row["rotation"] for row in reversed(spec["bends"][1:])]
        else:
            rows = spec["bends"]
            turns = [0.0] + [row["rotation"] for row in rows[1:]]
        tree = ElementTree.parse(wild / "runs" / name / "strip.svg")
        around = math.pi * (spec.get("tube", RANDOM["tube"])["od"] + 0.1)
        lines = insides(tree)
        assert len(lines) == len(rows)
        heights = [lines[end] for end in sorted(lines)]
        clock = 0.0
        for height, turn in zip(heights, turns):
            clock += turn
            down = (heights[0] - height) / around * 360.0
            off = (down - clock + 180.0) % 360.0 - 180.0
            assert abs(off) < 0.1, (name, clock, down)


def test_the_spec_s_own_lengths_are_on_the_strip(wild):
    """Stations worked from the spec: allowance, straights and R·a; trim and insertion lines."""
    spec = RANDOM["runs"]["wild"]
    run = next(r for r in read_plan(wild)["runs"] if r["name"] == "wild")
    at, starts = spec["allowance"]["start"], []
    for row in spec["bends"]:
        at += row["length"]
        starts.append((at, at + math.radians(row["angle"]) * 42))
        at = starts[-1][1]
    total = at + spec["end_length"] + spec["allowance"]["end"]
    tree = ElementTree.parse(wild / "runs" / "wild" / "strip.svg")
    left, right, _, _ = outline(tree)
    assert right - left == pytest.approx(total, abs=0.05)
    other = run["order"]["better"] == "other end"
    turned = (lambda x: total - x) if other else (lambda x: x)
    assert [x - left for x in upright_lines(tree, "tangent")] == pytest.approx(
        sorted(turned(x) for pair in starts for x in pair), abs=0.05
    )
    assert [x - left for x in upright_lines(tree, "trim")] == pytest.approx(
        sorted(turned(x) for x in (14, total - 9)), abs=0.05
    )
    # The reference line meets the middle of a bend, 4.5 mm late.
    marks = [x - left for x in upright_lines(tree, "tool-mark")]
    middles = sorted(turned((a + b) / 2) for a, b in starts)
    assert marks == pytest.approx([m - 4.5 for m in middles], abs=0.05)


def strip_pages(folder):
    document = pymupdf.open(folder / "strips.pdf")
    for page in document:
        yield document, page


def stroked(page):
    """Stroked lines as (from, to, width, dash numbers), mm, y up."""
    high = page.rect.height
    for path in page.get_drawings():
        if path["type"] == "f":
            continue
        dashes = len(re.findall(r"[\d.]+", path["dashes"].split("]")[0]))
        for item in path["items"]:
            if item[0] == "l":
                a, b = ((p.x * POINT, (high - p.y) * POINT) for p in item[1:])
                yield a, b, round(path["width"] * POINT, 3), dashes


def test_sheets_have_bars_words_and_margins(demos, wild):
    pages = 0
    for folder in folders(demos, wild):
        for _, page in strip_pages(folder):
            for axis, lengths in bar_lengths_of(page).items():
                for wanted in (100.0, 101.6):
                    assert any(abs(l - wanted) < 0.01 for l in lengths), (folder, page.number, axis)
            assert "Print at 100 %: 100 mm must read 99.5 to 100.5." in page.get_text()
            wide, high = page.rect.width * POINT, page.rect.height * POINT
            for path in page.get_drawings():
                x0, y0, x1, y1 = (v * POINT for v in path["rect"])
                assert min(x0, y0) >= MARGIN - 1e-3 and x1 <= wide - MARGIN + 1e-3 and y1 <= high - MARGIN + 1e-3
            boxes = list(words(page))
            for index, (text, box) in enumerate(boxes):
                assert min(box[:2]) >= MARGIN - 0.01, text
                assert box[2] <= wide - MARGIN + 0.01 and box[3] <= high - MARGIN + 0.01, text
                for other, other_box in boxes[index + 1 :]:
                    assert not overlap(box, other_box), (folder, page.number, text, other)
            pages += 1
    assert pages > 10


def bar_lengths_of(page):
    found = {"across": [], "up": []}
    for (x0, y0), (x1, y1), width, _ in stroked(page):
        if width == 0.2 and abs(y1 - y0) < 1e-6:
            found["across"].append(abs(x1 - x0))
        if width == 0.2 and abs(x1 - x0) < 1e-6:
            found["up"].append(abs(y1 - y0))
    return found


def pieces(folder):
    """The pieces of every strip as (run, letter, page, left of its window, from, to) in the order of the sheets."""
    found = {}
    for _, page in strip_pages(folder):
        lines = [(text, box) for text, box in words(page)]
        for index, (text, box) in enumerate(lines):
            match = re.fullmatch(r"(.+): piece ([A-Z]+) of (\d+)", text)
            if match:
                below = [t for t, _ in lines[index + 1 : index + 5]]
                spans = [re.match(r"([\d.]+) to ([\d.]+) from the", t) for t in below]
                low, high = next((float(s[1]), float(s[2])) for s in spans if s)
                found.setdefault(match[1], []).append((match[2], page.number, box, low, high))
    return found


def test_pieces_follow_each_other(demos, wild):
    several = 0
    for folder in folders(demos, wild):
        for name, parts in pieces(folder).items():
            run = next(r for r in read_plan(folder)["runs"] if r["name"] == name)
            assert parts[0][3] == 0 and parts[-1][4] == pytest.approx(run["cut_length_mm"], abs=0.06)
            assert all(a[4] == b[3] for a, b in zip(parts, parts[1:])), name
            several += len(parts) > 1
    assert several > 2


def test_joined_pieces_give_the_marks(demos, wild):
    """Distances between tool's marks on a sheet, and from the joint's dashed line, against the plan."""
    checked = 0
    for folder in folders(demos, wild):
        plan = read_plan(folder)
        for name, parts in pieces(folder).items():
            run = next(r for r in plan["runs"] if r["name"] == name)
            bends = marked(run)
            document = pymupdf.open(folder / "strips.pdf")
            joint = 0.0
            for letter, number, box, low, high in parts:
                page = document[number]
                tall = page.rect.height * POINT
                top = tall - box[1]
                # Its lines lie between its name and the next piece's or the foot.
                others = [b[1] for _, n, b, _, _ in sum(pieces(folder).values(), []) if n == number and b[1] > box[1]]
                floor = tall - min(others, default=tall)
                own = [(a, b, w, d) for a, b, w, d in stroked(page) if floor < min(a[1], b[1]) and max(a[1], b[1]) < top]
                joints = sorted(a[0] for a, b, w, d in own if d == 2 and w == 0.1 and abs(a[0] - b[0]) < 1e-6 and abs(a[1] - b[1]) > 40)
                lines = [a[0] for a, b, w, _ in own if w == MARK and abs(a[0] - b[0]) < 1e-6]
                if low > 0:
                    zero = joints[0] - joint
                else:
                    edge = [a[0] for a, b, w, d in own if w == 0.15 and d == 0 and abs(a[0] - b[0]) < 1e-6 and abs(a[1] - b[1]) > 15]
                    zero = min(edge)
                for bend in bends:
                    if low + 0.2 < bend["mark_mm"] < high - 0.2:
                        assert any(abs(x - zero - bend["mark_mm"]) < 0.05 for x in lines), (name, letter)
                        checked += 1
                if (letter, number) != parts[-1][:2]:
                    # Where the next piece is laid on this one; the words say so to 0.1 mm.
                    joint = joints[-1] - zero
                    assert abs(joint - high) < 0.06
    assert checked > 8


def test_a_whole_strip_on_paper_is_true(tmp_path):
    """Every strip in one piece on a roll: marks, bends, width once round and clock lines as the page has them."""
    specs = [*DEMOS, spec_of(tmp_path, RANDOM)]
    checked = 0
    for spec in specs:
        names = [run["name"] for run in read_plan(build(spec, tmp_path / spec.stem / "plan", "--only", "json"))["runs"]]
        for name in names:
            folder = build(spec, tmp_path / spec.stem / name, "--only", "pdf,json", "--run", name, "--paper", "1100x420") / "only" / name
            run = read_plan(folder)["runs"][0]
            if not run["bends"]:
                continue
            [(_, page)] = strip_pages(folder)
            lines = list(stroked(page))

            def across(width, dashes, page_lines=lines):
                found = [(a, b) for a, b, w, d in page_lines if (w, d) == (width, dashes) and abs(a[0] - b[0]) < 1e-6]
                return [(a[0], min(a[1], b[1]), max(a[1], b[1])) for a, b in found]

            # The outline is the widest thing of its pen; its upper edge is where a mark's line ends.
            flat = [(min(a[0], b[0]), abs(a[0] - b[0]), a[1]) for a, b, w, d in lines if (w, d) == (0.15, 0) and a[1] == b[1]]
            zero, length, _ = max(flat, key=lambda line: line[1])
            assert length == pytest.approx(run["cut_length_mm"], abs=0.05), name
            bends = marked(run)
            around = math.pi * (run["tube"]["od_mm"] + 0.1)
            marks = sorted((x - zero, low, high) for x, low, high in across(MARK, 0) if high - low > 10)
            wanted = sorted(on_tube([bend["mark_mm"] for bend in bends], run))
            assert [x for x, _, _ in marks] == pytest.approx(wanted, abs=0.05), name
            for _, low, high in marks:
                assert high - low == pytest.approx(around, abs=0.05), name
            tangents = [x - zero for x, low, high in across(0.3, 0) if high - low > 10]
            for bend in bends:
                for key in ("start_mm", "end_mm"):
                    assert any(abs(x - bend[key]) < 0.05 for x in tangents), (name, bend["number"], key)
            # Clock lines, told apart by the station where each bend ends; the legend's sample ends beside the strip.
            insides = [(max(a[0], b[0]) - zero, a[1]) for a, b, w, _ in lines if w == 0.35 and a[1] == b[1]]
            heights = []
            for bend in bends:
                ends = [y for x, y in insides if abs(x - bend["end_mm"]) < 0.05]
                assert ends, (name, bend["number"])
                heights.append(ends[0])
            for bend, height in zip(bends, heights):
                down = (heights[0] - height) / around * 360.0
                off = (down - bend["inside_clock_deg"] + bends[0]["inside_clock_deg"] + 180.0) % 360.0 - 180.0
                assert abs(off) < 0.2, (name, bend["number"], down)
                checked += 1
    assert checked > 20


def test_every_mark_is_named_once(demos, wild):
    for folder in folders(demos, wild):
        text = "\n".join(page.get_text() for _, page in strip_pages(folder))
        named = re.findall(r"^bend \d+(?:: set this line(?: on)?| MARK [\d.]+)$", text, re.M)
        wanted = sum(len(on_tube([b["mark_mm"] for b in marked(run)], run)) for run in runs_with_strips(folder))
        assert len(named) == wanted
        for run in runs_with_strips(folder):
            for bend in marked(run):
                assert f"{bend['mark_mm']:.1f}" in text or not on_tube([bend["mark_mm"]], run)


def test_the_tube_is_turned_against_the_next_plane(demos, wild):
    """A plane that lies clockwise (rotation +) comes to a tool that stays by a turn anticlockwise (-)."""
    checked = 0
    for folder in folders(demos, wild):
        for run in runs_with_strips(folder):
            tree = ElementTree.parse(folder / "runs" / run["name"] / "strip.svg")
            texts = ["".join(element.itertext()) for element in tree.iter(f"{SVG}text")]
            found = [text for text in texts if text.startswith("turn it ") or text == "do not turn it"]
            turns = [-b["rotation_deg"] if b["rotation_deg"] < 180 else 180 for b in marked(run)[1:]]
            # Each as often as it is wanted; columns stand in the order of the marks, not of the bends.
            wanted = [f"turn it {t:+.1f}°" if abs(t) >= 0.05 else "do not turn it" for t in turns]
            assert sorted(found) == sorted(wanted), (run["name"], found, wanted)
            checked += len(found)
    assert checked > 5


def test_a_printer_s_error_is_cancelled(tmp_path):
    spec = spec_of(tmp_path, RANDOM)
    folder = build(spec, tmp_path / "out", "--only", "pdf,json", "--printer-scale", "99.6,100.2")
    plain = build(spec, tmp_path / "plain", "--only", "pdf,json")
    for (_, page), (_, true) in zip(strip_pages(folder), strip_pages(plain), strict=True):
        for axis, factor in (("across", 0.996), ("up", 1.002)):
            for wanted in (100.0, 101.6):
                assert any(abs(l * factor - wanted) < 0.01 for l in bar_lengths_of(page)[axis])
        thick = [abs(a[1] - b[1]) for a, b, w, _ in stroked(page) if w == MARK and abs(a[0] - b[0]) < 1e-6]
        rounds = [math.pi * (od + 0.1) for od in (12, 6)]
        # Tool's marks go once round the tube, as the printer puts them on paper.
        assert all(any(abs(long * 1.002 - once) < 0.02 for once in rounds) for long in thick if long > 0)
        assert "Stretched 1.0040 x 0.9980" in page.get_text()


def test_same_input_same_bytes(demos, tmp_path):
    spec = DEMOS[0]
    again = build(spec, tmp_path / spec.stem)
    assert (again / "strips.pdf").read_bytes() == (demos[spec.stem] / "strips.pdf").read_bytes()
    files = list(again.glob("runs/*/strip.svg"))
    assert files
    for file in files:
        assert file.read_bytes() == (demos[spec.stem] / file.relative_to(again)).read_bytes()
