"""form.dxf of every demo, and of specs at the edges of what a form can be, read by ezdxf: nothing to
repair, millimetres, closed contours, arcs that are arcs, and the geometry the spec asks for."""

import json
import math
import re

import ezdxf
import pytest
from conftest import DEMOS, build

LAYERS = {"CUT", "CUT-KERF", "DRILL", "ENGRAVE", "NOTE"}
KERF = 0.2

SPEC = """format: 1
title: "It's 100 % ^ <form> é"
tube: {{od: {od}, wall: {wall}, material: copper, temper: soft}}
bender: {{name: test, clr: {clr}, grip: 0, lead_out: 0}}
runs:
  a:
    bends: [{bends}]
    end_length: 200
"""

# Outside diameter, centreline radius, bend angles: small and large, tight and wide, up to a U.
EDGES = [
    (8, 10, [180]),
    (3, 3, [180, 90]),
    (15, 40, [5]),
    (54, 160, [15, 45]),
    (12, 400, [12]),
    (22, 66, [30, 31, 32, 90, 135]),
]


@pytest.fixture(scope="module")
def forms(demos, tmp_path_factory):
    """(form's folder name, plan.json, document) of every form of the demos and the edge specs."""
    folder = tmp_path_factory.mktemp("forms")
    outs = list(demos.values())
    for number, (od, clr, angles) in enumerate(EDGES):
        bends = ", ".join(f"{{length: {4 * clr}, rotation: 0, angle: {a}}}" for a in angles)
        spec = folder / f"edge-{number}.yaml"
        spec.write_text(SPEC.format(od=od, wall=od / 10, clr=clr, bends=bends), encoding="utf-8")
        outs.append(build(spec, folder / spec.stem, "--only", "dxf,json"))
    found = []
    for out in outs:
        plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
        for path in sorted(out.glob("forms/*/form.dxf")):
            found.append((path.parent.name, plan, ezdxf.readfile(path)))
    assert len(found) >= len(DEMOS) + len(EDGES)
    return found


def contour(document, layer):
    [outline] = document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
    return outline


def edges(outline):
    """(start, end, bulge) of each edge of a closed polyline."""
    points = [(p[0], p[1], p[4]) for p in outline.get_points()]
    return [((a[0], a[1]), (b[0], b[1]), a[2]) for a, b in zip(points, points[1:] + points[:1])]


def arc_of(start, end, bulge):
    """Centre, radius, signed sweep of a bulged edge."""
    sweep = 4 * math.atan(bulge)
    chord = math.dist(start, end)
    radius = chord / 2 / abs(math.sin(sweep / 2))
    away = chord / 2 / math.tan(sweep / 2)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    normal = (-(end[1] - start[1]) / chord, (end[0] - start[0]) / chord)
    return (middle[0] + normal[0] * away, middle[1] + normal[1] * away), radius, sweep


def area_and_length(outline):
    area = length = 0.0
    for start, end, bulge in edges(outline):
        area += (start[0] * end[1] - end[0] * start[1]) / 2
        if bulge:
            _, radius, sweep = arc_of(start, end, bulge)
            area += radius**2 * (sweep - math.sin(sweep)) / 2
            length += radius * abs(sweep)
        else:
            length += math.dist(start, end)
    return area, length


def test_nothing_to_repair(forms):
    for name, _, document in forms:
        auditor = document.audit()
        assert [e.message for e in auditor.errors] == [], name
        assert [e.message for e in auditor.fixes] == [], name


def test_units_and_version(forms):
    for _, _, document in forms:
        assert document.dxfversion == "AC1024"
        assert document.header["$INSUNITS"] == 4
        assert document.header["$MEASUREMENT"] == 1


def test_only_plain_entities_on_known_layers(forms):
    for name, _, document in forms:
        assert {layer.dxf.name for layer in document.layers} - {"0", "Defpoints"} == LAYERS, name
        for entity in document.modelspace():
            assert entity.dxftype() in {"LINE", "ARC", "CIRCLE", "LWPOLYLINE", "TEXT"}, name
            assert entity.dxf.layer in LAYERS
            if entity.dxf.hasattr("extrusion"):
                assert tuple(entity.dxf.extrusion) == (0, 0, 1)


def test_contours_are_closed_and_arcs_are_arcs(forms):
    for name, _, document in forms:
        for layer in ("CUT", "CUT-KERF"):
            outline = contour(document, layer)
            assert outline.closed, name
            # A flattened arc would be a chain of many short straights.
            assert len(outline) < 16, name
            assert any(bulge for _, _, bulge in edges(outline)), name
            assert not list(document.modelspace().query(f'LINE[layer=="{layer}"]'))


def test_rim_fits_the_tube_and_its_largest_bend(forms):
    for name, plan, document in forms:
        od, clr = map(float, re.fullmatch(r"([\d.]+)-r([\d.]+)", name).groups())
        arcs = [arc_of(*edge) for edge in edges(contour(document, "CUT")) if edge[2]]
        # An arc of more than half a turn is written in two.
        assert sum(abs(sweep) for _, _, sweep in arcs) > 0
        for centre, radius, _ in arcs:
            assert radius == pytest.approx(clr - od / 2, abs=1e-6), name
            assert centre == pytest.approx((0, 0), abs=1e-6), name
        angles = [
            bend["angle_deg"]
            for run in plan["runs"]
            for bend in run["bends"]
            if abs(run["tube"]["od_mm"] - od) < 1e-3 and abs(bend["clr_mm"] - clr) < 1e-3
        ]
        expected = min(max(angles) + 10, 185)
        assert math.degrees(sum(abs(sweep) for _, _, sweep in arcs)) == pytest.approx(expected, abs=1e-6), name


def test_every_radius_of_the_plan_has_a_form(forms):
    plans = {id(plan): plan for _, plan, _ in forms}
    for key, plan in plans.items():
        wanted = {
            (round(run["tube"]["od_mm"], 3), round(bend["clr_mm"], 3)) for run in plan["runs"] for bend in run["bends"]
        }
        names = [name for name, other, _ in forms if id(other) == key]
        assert {tuple(map(float, name.split("-r"))) for name in names} == wanted


def test_kerf_grows_the_outside_and_shrinks_the_holes(forms):
    for name, _, document in forms:
        area, length = area_and_length(contour(document, "CUT"))
        grown, _ = area_and_length(contour(document, "CUT-KERF"))
        # Steiner's formula for a convex outline moved outwards by d: A + L d + π d². The offset joins
        # points nearer than 1e-5 mm, hence the tolerance.
        d = KERF / 2
        assert abs(grown) == pytest.approx(abs(area) + length * d + math.pi * d * d, rel=1e-7), name
        circles = {
            layer: sorted(
                (round(c.dxf.center.x, 6), round(c.dxf.center.y, 6), c.dxf.radius)
                for c in document.modelspace().query(f'CIRCLE[layer=="{layer}"]')
            )
            for layer in ("CUT", "CUT-KERF", "DRILL")
        }
        assert circles["CUT"] == circles["DRILL"]
        assert len(circles["CUT-KERF"]) == len(circles["CUT"])
        for nominal, kerf in zip(circles["CUT"], circles["CUT-KERF"]):
            assert nominal[:2] == kerf[:2]
            assert nominal[2] - kerf[2] == pytest.approx(d, abs=1e-9)


def test_extents_are_those_of_the_model(forms):
    for name, _, document in forms:
        low, high = [math.inf, math.inf], [-math.inf, -math.inf]

        def take(x, y):
            low[:] = [min(low[0], x), min(low[1], y)]
            high[:] = [max(high[0], x), max(high[1], y)]

        for entity in document.modelspace():
            if entity.dxftype() == "LWPOLYLINE":
                for start, end, bulge in edges(entity):
                    take(*start)
                    if not bulge:
                        continue
                    centre, radius, sweep = arc_of(start, end, bulge)
                    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
                    for n in range(2001):
                        angle = first + sweep * n / 2000
                        take(centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))
            elif entity.dxftype() == "LINE":
                take(entity.dxf.start.x, entity.dxf.start.y)
                take(entity.dxf.end.x, entity.dxf.end.y)
            elif entity.dxftype() == "CIRCLE":
                centre, radius = entity.dxf.center, entity.dxf.radius
                take(centre.x - radius, centre.y - radius)
                take(centre.x + radius, centre.y + radius)
            elif entity.dxf.layer == "NOTE":
                # Notes stand left-aligned below the plate; a letter counts with the height of capitals.
                at = entity.dxf.align_point
                take(at.x, at.y - entity.dxf.height)
                take(at.x + len(entity.dxf.text) * entity.dxf.height, at.y)
        header = document.header
        assert header["$EXTMIN"][:2] == pytest.approx(low, abs=1e-3), name
        assert header["$EXTMAX"][:2] == pytest.approx(high, abs=1e-3), name


def test_marks_say_what_the_form_is_for(forms):
    for name, _, document in forms:
        engraved = [t.dxf.text for t in document.modelspace().query('TEXT[layer=="ENGRAVE"]')]
        notes = " ".join(t.dxf.text for t in document.modelspace().query('TEXT[layer=="NOTE"]'))
        assert "measure your kerf" in notes and "Springback is not taken off yet" in notes
        assert f"Form {name}," in notes
        rim = float(name.split("-r")[1]) - float(name.split("-r")[0]) / 2
        if rim >= 6:
            assert any(name in words for words in engraved), (name, engraved)


def test_the_same_bytes_every_time(tmp_path):
    first = build(DEMOS[0], tmp_path / "a", "--only", "dxf")
    second = build(DEMOS[0], tmp_path / "b", "--only", "dxf")
    files = sorted(p.relative_to(first) for p in first.rglob("*.dxf"))
    assert files
    for file in files:
        assert (first / file).read_bytes() == (second / file).read_bytes()
