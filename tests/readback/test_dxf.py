"""Every DXF file of the demos, and of forms and jigs at the edges of what they can be, read by ezdxf: nothing to
repair, millimetres, closed contours, arcs that are arcs, parts apart on their sheets, and the kerf taken up."""

import math
import re

import cut_parts
import ezdxf
import numpy
import pytest
import yaml
from closed_form import length
from conftest import DEMOS, build

LAYERS = {"CUT", "CUT-KERF", "DRILL", "ENGRAVE", "NOTE"}
USUAL = {"kerf": 0.2, "spacing": 5.0, "thickness": 6.0, "size": [600.0, 400.0]}
"""The program's defaults, as the README has them."""

SPEC = """format: 1
title: "It's 100 % ^ <form> é"
tube: {{od: {od}, wall: {wall}, material: copper, temper: soft}}
bender: {{name: test, clr: {clr}, grip: 0, lead_out: 0}}
workshop: {{sheet: {{thickness: {thickness}, kerf: {kerf}, spacing: {spacing}, size: {size}}}}}
runs:
  a:
    bends: [{bends}]
    end_length: 100
"""

# Outside diameter, centreline radius, bend angles, sheet: small and large, tight and wide, up to a U.
EDGES = [
    (8, 16, [180], {}),
    (3, 9, [180, 90], {"thickness": 2, "kerf": 0.1, "spacing": 2, "size": [300, 200]}),
    (15, 40, [5], {"thickness": 9}),
    (54, 160, [15, 45], {"size": [1200, 600], "thickness": 12}),
    (12, 400, [12], {"kerf": 0}),
    (22, 66, [30, 31, 32, 90, 135], {"thickness": 4, "spacing": 8}),
]


class File:
    """A DXF file and the sheet it is made for."""

    def __init__(self, path, sheet):
        self.path, self.name, self.sheet = path, "/".join(path.parts[-3:]), sheet
        self.document = ezdxf.readfile(path)
        self.space = self.document.modelspace()

    def texts(self, layer):
        return [text.dxf.text for text in self.space.query(f'TEXT[layer=="{layer}"]')]

    def frames(self):
        """Lower left and upper right corner of every sheet."""
        contours = [numpy.array(e.get_points("xy")) for e in self.space.query('LWPOLYLINE[layer=="NOTE"]')]
        return [(points.min(axis=0), points.max(axis=0)) for points in contours]


@pytest.fixture(scope="module")
def files(demos, tmp_path_factory):
    """Every DXF file of the demos and the edge specs."""
    folder = tmp_path_factory.mktemp("dxf")
    found = []
    for spec in DEMOS:
        written = yaml.safe_load(spec.read_text(encoding="utf-8"))
        unit, given = written.get("units", "mm"), (written.get("workshop") or {}).get("sheet") or {}
        mm = lambda value: [length(v, unit) for v in value] if isinstance(value, list) else length(value, unit)
        sheet = USUAL | {key: mm(value) for key, value in given.items()}
        found += [File(path, sheet) for path in sorted(demos[spec.stem].rglob("*.dxf"))]
    for number, (od, clr, angles, given) in enumerate(EDGES):
        sheet = USUAL | given
        bends = ", ".join(f"{{length: {3 * clr}, rotation: 0, angle: {a}}}" for a in angles)
        spec = folder / f"edge-{number}.yaml"
        spec.write_text(SPEC.format(od=od, wall=od / 10, clr=clr, bends=bends, **sheet), encoding="utf-8")
        out = build(spec, folder / spec.stem, "--only", "dxf")
        kinds = {path.relative_to(out).parts[0] for path in out.rglob("*.dxf")}
        assert {"forms", "trials"} <= kinds, kinds
        found += [File(path, sheet) for path in sorted(out.rglob("*.dxf"))]
    assert len(found) > 3 * len(DEMOS) + 2 * len(EDGES)
    return found


def contours(file, layer):
    """Every closed contour of a layer as vertices with bulges."""
    circles = [cut_parts.circle(c.dxf.center.x, c.dxf.center.y, c.dxf.radius) for c in file.space.query(f'CIRCLE[layer=="{layer}"]')]
    return circles + [numpy.array(p.get_points("xyb")) for p in file.space.query(f'LWPOLYLINE[layer=="{layer}"]')]


def polygon(contour):
    return cut_parts.chopped(contour, 48)


def distance(points, outline):
    """Least distance of points to a closed polygon."""
    here, there = outline, numpy.roll(outline, -1, axis=0)
    along = there - here
    square = numpy.maximum((along**2).sum(axis=1), 1e-18)
    share = numpy.clip(((points[:, None] - here) * along).sum(axis=2) / square, 0, 1)
    return numpy.linalg.norm(points[:, None] - (here + share[..., None] * along), axis=2).min()


def test_nothing_to_repair(files):
    for file in files:
        auditor = file.document.audit()
        assert [e.message for e in auditor.errors] == [], file.name
        assert [e.message for e in auditor.fixes] == [], file.name


def test_units_and_version(files):
    for file in files:
        assert file.document.dxfversion == "AC1024"
        assert file.document.header["$INSUNITS"] == 4
        assert file.document.header["$MEASUREMENT"] == 1


def test_only_plain_entities_on_known_layers(files):
    for file in files:
        assert {layer.dxf.name for layer in file.document.layers} - {"0", "Defpoints"} == LAYERS, file.name
        for entity in file.space:
            assert entity.dxftype() in {"LINE", "ARC", "CIRCLE", "LWPOLYLINE", "TEXT"}, file.name
            assert entity.dxf.layer in LAYERS
            if entity.dxf.hasattr("extrusion"):
                assert tuple(entity.dxf.extrusion) == (0, 0, 1)


def test_contours_are_closed_and_arcs_are_arcs(files):
    for file in files:
        for layer in ("CUT", "CUT-KERF"):
            for outline in file.space.query(f'LWPOLYLINE[layer=="{layer}"]'):
                assert outline.closed, file.name
                points = outline.get_points("xyb")
                straights = [math.dist(a[:2], b[:2]) for a, b in zip(points, points[1:] + points[:1]) if a[2] == 0]
                # A flattened arc would be a chain of many short straights.
                assert sum(long < 1 for long in straights) < 12, file.name
            assert not list(file.space.query(f'LINE[layer=="{layer}"]')), file.name
        if file.path.name == "form.dxf":
            assert all((part.outline[:, 2] != 0).any() for part in cut_parts.read(file.path)), file.name


def test_parts_lie_apart_on_their_sheets(files):
    for file in files:
        parts = [polygon(part.outline) for part in cut_parts.read(file.path)]
        frames, spacing = file.frames(), file.sheet["spacing"]
        assert parts and frames, file.name
        boxes = [(p.min(axis=0), p.max(axis=0)) for p in parts]
        for index, (low, high) in enumerate(boxes):
            # Chopped arcs lie up to a hair inside the true ones.
            holders = [f for f in frames if (low >= f[0] + spacing - 1e-2).all() and (high <= f[1] - spacing + 1e-2).all()]
            assert len(holders) == 1, f"{file.name}: part {index} is on {len(holders)} sheets"
            for other in range(index + 1, len(parts)):
                if (boxes[other][0] > high + spacing).any() or (boxes[other][1] < low - spacing).any():
                    continue
                assert not cut_parts.inside(parts[other], *parts[index][0]), file.name
                assert distance(parts[index], parts[other]) >= spacing - 1e-2, file.name


def test_sheets_are_those_of_the_spec_or_said_to_be_larger(files):
    for file in files:
        sizes = [tuple(high - low) for low, high in file.frames()]
        words = [re.fullmatch(r"sheet (\d+) of (\d+): ([\d.]+) x ([\d.]+) x ([\d.]+) mm", t) for t in file.texts("NOTE")]
        words = [match for match in words if match]
        assert [int(m[1]) for m in words] == list(range(1, len(sizes) + 1)), file.name
        for size, match in zip(sizes, words):
            assert size == pytest.approx((float(match[3]), float(match[4])), abs=1e-3), file.name
            assert float(match[5]) == pytest.approx(file.sheet["thickness"], abs=1e-3), file.name
            assert size == pytest.approx(tuple(file.sheet["size"])) or any(
                s > limit for s, limit in zip(sorted(size), sorted(file.sheet["size"]))
            ), file.name


def test_kerf_grows_outlines_and_shrinks_holes_by_half_of_it(files):
    for file in files:
        half = file.sheet["kerf"] / 2
        nominal = cut_parts.read(file.path)
        kerfed = contours(file, "CUT-KERF")
        assert len(kerfed) == sum(1 + len(part.openings) for part in nominal), file.name
        polygons = [polygon(contour) for contour in kerfed]
        for part in nominal:
            for contour, sign in [(part.outline, 1)] + [(opening, -1) for opening in part.openings]:
                own = polygon(contour)
                gap = [abs(cut_parts.area(p)) - abs(cut_parts.area(own)) for p in polygons]
                # A corner moves by half a kerf along both its sides: further along the drawing's axes where it stands askew.
                moved = lambda p: max(numpy.abs(end(p, axis=0) - end(own, axis=0)).max() for end in (numpy.min, numpy.max))
                near = [i for i, p in enumerate(polygons) if moved(p) < 2 * half + 2e-2]
                assert len(near) == 1, (file.name, len(near))
                twin = polygons[near[0]]
                if half == 0:
                    assert abs(gap[near[0]]) < 1e-6, file.name
                    continue
                assert sign * gap[near[0]] > 0, file.name
                # Everywhere half a kerf away: no point nearer, none further (rounded where it goes round a corner).
                for a, b in ((twin, own), (own, twin)):
                    steps = numpy.linspace(0, 1, 5)[:, None, None]
                    spread = (a * (1 - steps) + numpy.roll(a, -1, axis=0) * steps).reshape(-1, 2)
                    found = [distance(spread[i : i + 1], b) for i in range(0, len(spread), max(1, len(spread) // 60))]
                    assert min(found) > half - 5e-3, (file.name, min(found))
                    assert max(found) < half * math.sqrt(2) + 5e-3, (file.name, max(found))


def test_drill_repeats_the_round_holes(files):
    for file in files:
        circles = {
            layer: sorted((round(c.dxf.center.x, 6), round(c.dxf.center.y, 6), c.dxf.radius) for c in file.space.query(f'CIRCLE[layer=="{layer}"]'))
            for layer in ("CUT", "CUT-KERF", "DRILL")
        }
        assert circles["CUT"] == circles["DRILL"], file.name
        for nominal, kerf in zip(circles["CUT"], circles["CUT-KERF"], strict=True):
            assert nominal[:2] == kerf[:2]
            assert nominal[2] - kerf[2] == pytest.approx(file.sheet["kerf"] / 2, abs=1e-9)


def test_every_part_has_its_name_engraved_and_words_keep_to_their_part(files):
    for file in files:
        parts = cut_parts.read(file.path)
        assert all(part.words for part in parts), file.name
        engraved = sum(len(part.words) for part in parts)
        assert engraved == len(file.texts("ENGRAVE")), f"{file.name}: words beside the parts"
        for text in file.space.query('TEXT[layer=="ENGRAVE"]'):
            corners = corners_of(text)
            holders = [p for p in parts if all(cut_parts.inside(polygon(p.outline), *c) for c in corners)]
            assert len(holders) == 1, (file.name, text.dxf.text)
            for opening in holders[0].openings:
                hole = polygon(opening)
                assert not any(cut_parts.inside(hole, *c) for c in corners), (file.name, text.dxf.text)
                assert not any(box_has(corners, point) for point in hole), (file.name, text.dxf.text)


def corners_of(text):
    """Corners of a word's box: a letter counts with 0.95 of the height of capitals, as the widest capitals of plain fonts take."""
    _, at, _ = text.get_placement()
    angle = math.radians(text.dxf.rotation)
    along = numpy.array([math.cos(angle), math.sin(angle)]) * len(text.dxf.text) * text.dxf.height * 0.475
    up = numpy.array([-math.sin(angle), math.cos(angle)]) * text.dxf.height / 2
    middle = numpy.array([at.x, at.y])
    return [middle + a * along + b * up for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]


def box_has(corners, point):
    return cut_parts.inside(numpy.array(corners), *point)


def test_extents_are_those_of_the_model(files):
    for file in files:
        points = []
        for layer in ("CUT", "CUT-KERF"):
            points += [cut_parts.chopped(contour, 720) for contour in contours(file, layer)]
        for entity in file.space:
            if entity.dxftype() == "LINE":
                points.append(numpy.array([tuple(entity.dxf.start)[:2], tuple(entity.dxf.end)[:2]]))
            elif entity.dxf.layer == "NOTE" and entity.dxftype() == "LWPOLYLINE":
                points.append(numpy.array(entity.get_points("xy")))
            elif entity.dxf.layer == "NOTE":
                # Notes are left-aligned at their top; a letter counts with the height of capitals.
                at = entity.dxf.align_point
                points.append(numpy.array([[at.x, at.y - entity.dxf.height], [at.x + len(entity.dxf.text) * entity.dxf.height, at.y]]))
        every = numpy.vstack(points)
        header = file.document.header
        assert header["$EXTMIN"][:2] == pytest.approx(tuple(every.min(axis=0)), abs=5e-3), file.name
        assert header["$EXTMAX"][:2] == pytest.approx(tuple(every.max(axis=0)), abs=5e-3), file.name


def test_notes_tell_which_layer_to_cut(files):
    for file in files:
        notes = " ".join(file.texts("NOTE"))
        assert "CUT-KERF" in notes and "kerf" in notes, file.name
        if file.path.name == "form.dxf":
            assert f"Bending form {file.path.parent.name}" in notes
            assert "cool" in notes and "springs back" in notes or "Springback is not known" in notes


def test_the_same_bytes_every_time(tmp_path):
    first = build(DEMOS[0], tmp_path / "a", "--only", "dxf")
    second = build(DEMOS[0], tmp_path / "b", "--only", "dxf")
    files = sorted(p.relative_to(first) for p in first.rglob("*.dxf"))
    assert files
    for file in files:
        assert (first / file).read_bytes() == (second / file).read_bytes()
