"""The plan's mark where each reader finds it: STEP and STL headers, DXF notes, PDF and SVG metadata, a CSV column."""

import csv
import re
import xml.etree.ElementTree

import ezdxf
import pymupdf
import pytest
import trimesh
from conftest import read_plan
from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.STEPControl import STEPControl_Reader


def step(path):
    reader = STEPControl_Reader()
    reader.ReadFile(str(path))
    header = APIHeaderSection_MakeHeader(reader.StepModel())
    words = [header.DescriptionValue(n + 1).ToCString() for n in range(header.NbDescription())]
    assert len(words) == 2, words
    return words[1]


def dxf(path):
    notes = ezdxf.readfile(path).modelspace().query('TEXT[layer=="NOTE"]')
    (note,) = (text.dxf.text for text in notes if text.dxf.text.startswith("Plan mark"))
    return note.lower().removesuffix(".").replace(note[10:16].lower(), note[10:16])


def svg(path):
    return xml.etree.ElementTree.parse(path).getroot().find("{http://www.w3.org/2000/svg}metadata").text.strip()


def stl(path):
    return trimesh.load_mesh(path).metadata["header"].split(", ")[1]


def pdf(path):
    with pymupdf.open(path) as document:
        return document.metadata["keywords"]


@pytest.mark.parametrize("kind", [step, dxf, svg, stl, pdf])
def test_every_file_has_the_mark(demos, kind):
    for folder in demos.values():
        mark = read_plan(folder)["mark"]
        assert re.fullmatch("[BCDFGHJKLMNPRSTVWXYZ]{6}", mark)
        paths = sorted(folder.rglob(f"*.{kind.__name__}"))
        assert paths
        for path in paths:
            assert kind(path) == f"plan mark {mark}", path


def test_every_row_has_the_mark(demos):
    marks = set()
    for folder in demos.values():
        mark = read_plan(folder)["mark"]
        rows = list(csv.DictReader((folder / "bends.csv").read_text().splitlines()))
        assert rows and {row["plan_mark"] for row in rows} == {mark}
        marks.add(mark)
    assert len(marks) == len(demos), "another spec, another mark"
