"""worksheet.pdf read back by PyMuPDF: every number the bench works by is on its run's pages, nothing
stands over anything else or in the margin, cautions are there when they apply and only then."""

import json
import random
import re

import pymupdf
import pytest
import yaml
from conftest import DEMOS, build, read_plan

MM = 72 / 25.4
CAPITAL = 0.718  # height of capitals over the font's size (Helvetica's metrics)
MARGIN = 10


def spans(page):
    lines = [line for block in page.get_text("dict")["blocks"] for line in block.get("lines", [])]
    return [span for line in lines for span in line["spans"] if span["text"].strip()]


def sections(folder):
    """Words of the worksheet's pages by bookmark, pages of one section joined: (title, kind) -> text."""
    found = {}
    with pymupdf.open(folder / "worksheet.pdf") as document:
        contents = document.get_toc()
        assert len(contents) == len(document)
        for _, name, number in contents:
            title, kind, part, of = re.fullmatch(r"(.*): ([a-z ]+), page (\d+) of (\d+)", name).groups()
            pages = found.setdefault((title, kind), [])
            pages.append(document[number - 1].get_text())
            assert int(part) == len(pages), "pages of a section follow each other"
            found.setdefault("of", {})[(title, kind)] = int(of)
    of = found.pop("of")
    for key, pages in found.items():
        assert of[key] == len(pages), f"{key} says {of[key]} pages and has {len(pages)}"
    return {key: re.sub(r"\s+", " ", " ".join(pages)) for key, pages in found.items()}


def tenths(value):
    rounded = round(abs(value) * 10 + 1e-9) / 10
    return f"{'-' if value < 0 and rounded else ''}{rounded:.1f}"


def has(text, value, unit=""):
    """Whether a number stands in a text by itself; a last digit may be rounded either way."""
    return any(re.search(rf"(?<![\d.]){re.escape(tenths(value + d))}{unit}(?![\d.]*\d)", text) for d in (0, 0.0499, -0.0499))


def turned(rotation):
    """What a turn of the plane asks of the tube while the tool stands still: the same the other way."""
    if has("0.0", abs(rotation)):
        return "do not turn"
    if has("180.0", abs(rotation)):
        return "half a turn"
    return "anticlockwise" if rotation > 0 else "clockwise"


def cards_of(text):
    """The cards of a run's page by their words: number of the bend and what follows up to the next card."""
    cards = text.split("The other order: marks and turns")[0].split(" Steps ")[0]
    parts = re.split(r"bend (\d+) (?=mark, from)", cards)[1:]
    return [{"number": int(number), "text": words} for number, words in zip(parts[::2], parts[1::2], strict=True)]


def check_card(run, head, card, row, before, other):
    """Every number of a bend stands on its own card, beside its own words."""
    bend = run["bends"][row["number"] - 1]
    text = card["text"]

    def told(pattern, value):
        found = re.search(pattern.replace("#", r"([+-]?\d+\.\d)"), text)
        assert found, (run["name"], row["number"], pattern, text)
        assert abs(float(found[1]) - value) < 0.0501, (run["name"], row["number"], pattern, found[1], value)

    told(rf"mark, from {'other' if other else 'datum'} end #", row["mark_mm"])
    told("pull to #°", bend["pull_to_deg"])
    told("gives #°", bend["angle_deg"])
    told("included angle #°", bend["included_angle_deg"])
    told("starts #", row["start_mm"])
    told("middle #", row["middle_mm"])
    told("ends #", row["end_mm"])
    if "radius" in text:
        told("radius #", bend["clr_mm"])
    else:
        # Said once for all bends, at the head of the run.
        assert f"each bend radius {bend['clr_mm']:.1f}" in head, (run["name"], row["number"])
    if before is None:
        assert "any way up;" in text and "dial to 0.0°" in text
    else:
        told(f"or from real end of bend {before['number']} #", row["from_last_end_mm"])
        told("turn the tube #°", abs(row["rotation_deg"]))
        way = re.search(r"turn the tube \d+\.\d° (do not turn|half a turn|anticlockwise|clockwise)", text)
        assert way and way[1] == turned(row["rotation_deg"]), (run["name"], row["number"], text)
        # 360° is shown as 0°.
        told("dial to #°", row["inside_clock_deg"] if row["inside_clock_deg"] < 359.95 else 0)
    if bend["anneal_from_mm"] is None:
        assert "anneal" not in text
    else:
        ends = [bend["anneal_from_mm"], bend["anneal_to_mm"]]
        low, high = [run["cut_length_mm"] - end for end in reversed(ends)] if other else ends
        told("anneal #", low)
        told(r"anneal \d+\.\d to #", high)


def check_runs(folder):
    plan = read_plan(folder)
    words = sections(folder)
    for run in plan["runs"]:
        text = words[(run["name"], "run")]
        if run["do_not_cut"]:
            assert "DO NOT CUT" in text and "cut to" not in text
            assert all(" ".join(reason.split()[1:]) in text for reason in run["do_not_cut"]), run["do_not_cut"]
        else:
            assert has(text, run["cut_length_mm"], " mm")
        other = run["order"]["better"] == "other end"
        bends = run["from_other_end"] if other else run["bends"]
        if bends and run["order"]["better"] != "neither":
            assert f"Bend from the {'OTHER' if other else 'DATUM'} END" in text
            assert f"Marks are measured from the {'other' if other else 'datum'} end" in text
            assert "along the straight being bent, from the end you started at" in text
        cards = cards_of(text)
        assert [card["number"] for card in cards] == [row["number"] for row in bends], "a card per bend, in order"
        for order, (row, card) in enumerate(zip(bends, cards, strict=True)):
            check_card(run, text, card, row, bends[order - 1] if order else None, other)
        for allowance in (run["allowance_start_mm"], run["allowance_end_mm"]):
            assert allowance == 0 or has(text, allowance, " mm")
        # The other order is there as well, where the bender can hold it.
        possible = run["order"]["datum_end" if other else "other_end"]["possible"]
        assert ("The other order" in text) == bool(bends and possible)
        for row in (run["bends"] if other else run["from_other_end"]) if possible else []:
            assert has(text, row["mark_mm"]) and has(text, row["start_mm"])
    return plan, words


def check_pages(folder, size=None):
    with pymupdf.open(folder / "worksheet.pdf") as document:
        for page in document:
            assert size is None or (page.rect.width / MM, page.rect.height / MM) == pytest.approx(size, abs=0.01)
            inside = page.rect + [MARGIN * MM - 0.2, MARGIN * MM - 0.2, 0.2 - MARGIN * MM, 0.2 - MARGIN * MM]
            seen = []
            for span in spans(page):
                box, size_pt = pymupdf.Rect(span["bbox"]), span["size"]
                assert size_pt * CAPITAL / MM > 2.4 - 0.01, span["text"]
                base = span["origin"][1]
                inked = pymupdf.Rect(box.x0, base - CAPITAL * size_pt, box.x1, base + 0.2 * size_pt)
                assert inside.contains(inked), (page.number, span["text"])
                for other, text in seen:
                    shared = inked & other
                    assert shared.is_empty or shared.width < 0.1 or shared.height < 0.1, (page.number, span["text"], text)
                seen.append((inked, span["text"]))
            for drawn in page.get_drawings():
                assert (inside + [-1, -1, 1, 1]).contains(drawn["rect"]), (page.number, drawn["rect"])


def check_letters(folder):
    """Numbers that are worked by are at least 5 mm high, tables and steps at least 3 mm."""
    plan = read_plan(folder)
    with pymupdf.open(folder / "worksheet.pdf") as document:
        pages = {name: document[number - 1] for _, name, number in document.get_toc()}
        for run in plan["runs"]:
            mine = [s for name, page in pages.items() if name.startswith(f"{run['name']}: run") for s in spans(page)]
            large = {s["text"].strip() for s in mine if s["size"] * CAPITAL / MM > 4.99}
            better = run["from_other_end"] if run["order"]["better"] == "other end" else run["bends"]
            assert any(has(t, run["cut_length_mm"]) for t in large) or "DO NOT CUT" in large
            for row in better:
                assert any(has(t, row["mark_mm"]) for t in large)
                assert any(has(t, run["bends"][row["number"] - 1]["pull_to_deg"], "°") for t in large)
            small = [s["text"] for s in mine if s["size"] * CAPITAL / MM < 2.99]
            # Only labels of pictures, the sign's "!" and the page's foot are smaller than 3 mm.
            assert not any(re.fullmatch(r"-?\d+\.\d°?", text.strip()) for text in small), small


def test_every_number_of_the_demos_is_on_its_page(demos):
    for folder in demos.values():
        check_runs(folder)
        check_pages(folder, (210, 297))
        check_letters(folder)


def test_first_page_lists_all_runs_and_the_cut_plan(demos):
    for folder in demos.values():
        plan = read_plan(folder)
        text = next(text for (_, kind), text in sections(folder).items() if kind == "all runs")
        for run in plan["runs"]:
            assert run["name"] in text and has(text, run["cut_length_mm"])
            assert has(text, run["bore_volume_ml"])
        assert has(text, sum(run["cut_length_mm"] for run in plan["runs"]), " mm")
        stocks = plan["cut_plan"]["stocks"]
        assert ("Cut plan" in text) == bool(stocks)
        for cut in (cut for stock in stocks for piece in stock["pieces"] for cut in piece["cuts"]):
            assert has(text, cut["from_mm"]) and has(text, cut["to_mm"])


def test_pressures_follow_the_gas_law(demos):
    """Ideal gas of fixed volume: p2 = (p1 + 1.01325)·T2/T1 − 1.01325 bar, T in kelvin."""
    text = next(text for (_, kind), text in sections(demos["reading-room"]).items() if kind == "all runs")
    for start in (0.3, 0.5):
        for celsius in range(15, 26):
            expected = (start + 1.01325) * (celsius + 273.15) / 293.15 - 1.01325
            assert f"{expected:.3f}" in text
    assert "Leak test" not in " ".join(sections(demos["lamp-arm"]).values())


def test_boxes_to_tick(demos):
    """A box for every step and every part of a bend: squares of 4.6 mm drawn as four lines."""
    for folder in demos.values():
        plan = read_plan(folder)
        with pymupdf.open(folder / "worksheet.pdf") as document:
            lines = [
                item
                for page in document
                for drawn in page.get_drawings()
                for item in drawn["items"]
                if item[0] == "l" and abs(abs(item[1].x - item[2].x) + abs(item[1].y - item[2].y) - 4.6 * MM) < 0.02
            ]
        bends = sum(len(run["bends"]) for run in plan["runs"])
        assert len(lines) / 4 >= 4 * bends + 6 * len(plan["runs"])


def spec(runs, **more):
    return {
        "format": 1,
        "tube": {"od": 15, "wall": 1, "material": "copper", "temper": "half-hard"},
        "bender": {"name": "t", "clr": 60, "grip": 5, "lead_out": 5},
        "fittings": {"collar": {"tube_od": 15, "insert": 12, "straight": 8, "max_angle": 1, "max_side": 0.5}},
        "runs": runs,
    } | more


def made(tmp_path, content, *options):
    file = tmp_path / "made.yaml"
    file.write_text(json.dumps(content), encoding="utf-8")
    return build(file, tmp_path / "out", "--only", "pdf,json", *options)


TABLE = {"bends": [{"length": 80, "rotation": 0, "angle": 90}, {"length": 90, "rotation": 45, "angle": 60}], "end_length": 70}


def test_cautions_stand_where_they_apply(tmp_path):
    hot = ("Flame.", "Black heat burns.", "Steam.", "dull red")
    (tmp_path / "cold").mkdir()
    cold = " ".join(sections(made(tmp_path / "cold", spec({"a": TABLE}, anneal="never"))).values())
    for words in (*hot, "Compressed air", "Water and electricity", "The tube conducts", "Trim at"):
        assert words not in cold
    assert "Sharp edges and chips." in cold and "Metal dust." in cold
    (tmp_path / "warm").mkdir()
    end = {"at": [0, 0, 0], "facing": [1, 0, 0]}
    components = {"tank": {"ports": {"out": end | {"fitting": "collar"}}}}
    run = TABLE | {"from": "tank.out", "allowance": {"start": 10, "end": 5}}
    warm = " ".join(sections(made(tmp_path / "warm", spec({"a": run}, anneal="always", components=components, carries="coolant"))).values())
    for words in (*hot, "Compressed air", "Water and electricity", "The tube conducts", "Trim at", "10.0 mm", "collar"):
        assert words in warm, words


def test_calibrated_benders_need_no_test_pieces(tmp_path):
    (tmp_path / "without").mkdir()
    plain = sections(made(tmp_path / "without", spec({"a": TABLE})))
    [text] = [text for (_, kind), text in plain.items() if kind == "test pieces"]
    for angle in (45, 90, 180):
        assert f"pulled: {angle}, got: ____" in text
    content = spec({"a": TABLE})
    content["bender"]["test_bends"] = [{"pulled": 45, "got": 44}, {"pulled": 90, "got": 88}, {"pulled": 120, "got": 117.4}]
    (tmp_path / "with").mkdir()
    known = sections(made(tmp_path / "with", content))
    assert not [kind for _, kind in known if kind == "test pieces"]
    assert "by test bends" in known[("a", "run")]


@pytest.mark.parametrize(
    ("paper", "size"),
    [("a4", (210, 297)), ("letter", (215.9, 279.4)), ("a3", (297, 420)), ("tabloid", (279.4, 431.8)), ("148x210", (148, 210))],
)
def test_random_runs_on_every_paper(tmp_path, paper, size):
    chance = random.Random(f"worksheet {paper}")
    runs = {}
    # The templates of one build may not take more than 60 sheets.
    count, longest = (2, 120) if paper == "148x210" else (4, 250)
    for number in range(count):
        bends = [
            {
                "length": round(chance.uniform(70, longest), 1),
                "rotation": round(chance.uniform(-179, 180), 1) if n else 0,
                "angle": round(chance.uniform(5, 170), 1),
            }
            for n in range(chance.randrange(1, 6 if paper == "148x210" else 13))
        ]
        runs[f"run-{number}"] = {"bends": bends, "end_length": round(chance.uniform(70, 200), 1)}
    content = spec(runs, stock={"length": "6 m", "kerf": 1})
    content["bender"]["datum"] = round(chance.uniform(-20, 20), 1)
    content["bender"]["mark"] = chance.choice(["start", "middle", "end"])
    folder = made(tmp_path, content, "--paper", paper)
    check_runs(folder)
    check_pages(folder, size)
    check_letters(folder)


def test_thirty_runs_and_fifty_bends(tmp_path):
    runs = {f"run-{n}": {"from": [0, 40 * n, 0], "to": [150, 40 * n, 0], "corners": []} for n in range(30)}
    bends = [{"length": 70, "rotation": 180 if n else 0, "angle": 30} for n in range(50)]
    runs["long"] = {"bends": bends, "end_length": 80, "from": {"at": [0, -9000, 0], "facing": [1, 0, 0]}}
    folder = made(tmp_path, spec(runs), "--paper", "a2")
    check_runs(folder)
    check_pages(folder, (420, 594))


def test_a_spec_in_inches_gets_inches(demos):
    demo = yaml.safe_load(next(d for d in DEMOS if d.stem == "lamp-arm").read_text(encoding="utf-8"))
    assert demo["units"] == "in"
    text = sections(demos["lamp-arm"])[("arm", "run")]
    # The first bend starts 8 in from the datum end.
    assert "203.2" in text and re.search(r"(?<![\d/])8 in\b", text)


FOUR_BENDS = """\
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: hard}
bender: {clr: 60, grip: 30, lead_out: 15}
runs:
  four:
    bends:
      - {length: 90, rotation: 0, angle: 90}
      - {length: 50, rotation: 90, angle: 45}
      - {length: 60, rotation: -60, angle: 90}
      - {length: 55, rotation: 120, angle: 30}
    end_length: 80
"""


def test_a_run_takes_one_page_or_two(demos, tmp_path):
    """The demos' runs, and one of four bends with all that annealing asks for, on the usual papers."""
    spec = tmp_path / "four.yaml"
    spec.write_text(FOUR_BENDS)
    papers = [build(spec, tmp_path / paper, "--only", "pdf,json", "--paper", paper) for paper in ("a4", "letter")]
    for folder in [*demos.values(), *papers]:
        with pymupdf.open(folder / "worksheet.pdf") as document:
            counts = re.findall(r"run, page 1 of (\d+)", "\n".join(page.get_text() for page in document))
        assert len(counts) == len(read_plan(folder)["runs"]) and max(map(int, counts)) <= 2, (folder, counts)
    [text] = [text for (_, kind), text in sections(papers[0]).items() if kind == "run"]
    assert "anneal zones" in text


def test_a_run_that_cannot_be_held_is_not_to_be_cut(demos, tmp_path):
    spec = tmp_path / "held.yaml"
    spec.write_text(FOUR_BENDS.replace("grip: 30", "grip: 70"))
    folder = build(spec, tmp_path / "held", "--only", "pdf,json")
    assert read_plan(folder)["runs"][0]["order"]["better"] == "neither"
    text = " ".join(" ".join(page.get_text() for page in pymupdf.open(folder / "worksheet.pdf")).split())
    assert "DO NOT CUT" in text and "Cut straight tube" not in text and "cut to" not in text
    for other in demos.values():
        assert all("do not cut" not in page.get_text().lower() for page in pymupdf.open(other / "worksheet.pdf"))
