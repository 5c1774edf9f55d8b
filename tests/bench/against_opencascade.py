"""Times this program's solids against OpenCascade's, in the same run, files written on both sides.

The reference run is built and written again and again: here by the release build of
`tests/bench/solid_files.rs` (library path, no process start counted), there by one pipe sweep of the
annular face and OpenCascade's own STEP and binary STL writers. Both sides start from the
corners each time and write a new file each time. Prints medians and ratios; fails if a ratio is below its target.

    cargo build --release --example solid_files
    python tests/bench/against_opencascade.py [rounds]
"""

import json
import math
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
from OCP.BRepGProp import BRepGProp
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepOffsetAPI import BRepOffsetAPI_MakePipe
from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt, gp_Vec
from OCP.GC import GC_MakeArcOfCircle
from OCP.GProp import GProp_GProps
from OCP.Message import Message
from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer
from OCP.StlAPI import StlAPI_Writer

ROOT = pathlib.Path(__file__).resolve().parents[2]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
OURS = TARGET / "release" / "examples" / "solid_files"

CORNERS = [(0, 0, 0), (120, 0, 0), (120, 90, 0), (120, 90, 110), (220, 90, 110), (220, 200, 110)]
RADIUS, OD, WALL = 38.0, 15.875, 1.2446
LINEAR, ANGULAR = 0.05, 0.5
BATCHES = 6
# Files go to memory where the system has such a folder: a disk that is still busy with the files of the
# last batch would be measured instead of either program.
MEMORY = "/dev/shm" if os.path.isdir("/dev/shm") else None
LEAST = {"STEP": 20.0, "STL": 100.0}


def wire():
    """The centreline: straights and arcs of the corners."""
    points = [gp_Pnt(*map(float, c)) for c in CORNERS]
    maker = BRepBuilderAPI_MakeWire()
    at = points[0]
    for before, corner, after in zip(points, points[1:], points[2:], strict=False):
        into = gp_Vec(before, corner).Normalized()
        out = gp_Vec(corner, after).Normalized()
        setback = RADIUS * math.tan(into.Angle(out) / 2)
        start = corner.Translated(into.Multiplied(-setback))
        end = corner.Translated(out.Multiplied(setback))
        maker.Add(BRepBuilderAPI_MakeEdge(at, start).Edge())
        maker.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(start, into, end).Value()).Edge())
        at = end
    maker.Add(BRepBuilderAPI_MakeEdge(at, points[-1]).Edge())
    return maker.Wire()


def annulus():
    """The tube's section at the start of the run."""
    axes = gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(1, 0, 0))
    ring = lambda radius: BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(gp_Circ(axes, radius)).Edge()).Wire()
    maker = BRepBuilderAPI_MakeFace(ring(OD / 2), True)
    bore = ring(OD / 2 - WALL)
    bore.Reverse()
    maker.Add(bore)
    return maker.Face()


def pipe():
    return BRepOffsetAPI_MakePipe(wire(), annulus()).Shape()


def write_step(folder, round_):
    writer = STEPControl_Writer()
    writer.Transfer(pipe(), STEPControl_StepModelType.STEPControl_AsIs)
    writer.Write(str(folder / f"theirs-{round_}.step"))


def write_stl(folder, round_):
    shape = pipe()
    BRepMesh_IncrementalMesh(shape, LINEAR, False, ANGULAR, False)
    writer = StlAPI_Writer()
    writer.ASCIIMode = False
    writer.Write(shape, str(folder / f"theirs-{round_}.stl"))


def times(job, rounds):
    job(rounds)  # not counted: warms up, as the other side does
    taken = []
    for round_ in range(rounds):
        start = time.perf_counter()
        job(round_)
        taken.append((time.perf_counter() - start) * 1e3)
    return taken


def volume(shape):
    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, props)
    return props.Mass()


def main():
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    Message.DefaultMessenger_s().ChangePrinters().Clear()
    straights = sum(math.dist(a, b) for a, b in zip(CORNERS, CORNERS[1:], strict=False)) - 4 * 2 * RADIUS
    section = math.pi * ((OD / 2) ** 2 - (OD / 2 - WALL) ** 2)
    exact = section * (straights + 4 * RADIUS * math.pi / 2)
    assert abs(volume(pipe()) - exact) < 1e-6 * exact, "the other side must do the same job"
    ours, theirs = {"STEP": [], "STL": []}, {"STEP": [], "STL": []}
    # Turn and turn about, so that whatever else the machine does disturbs both alike.
    for _ in range(BATCHES):
        with tempfile.TemporaryDirectory(dir=MEMORY) as name:
            folder = pathlib.Path(name)
            theirs["STEP"] += times(lambda n: write_step(folder, n), rounds)
            theirs["STL"] += times(lambda n: write_stl(folder, n), rounds)
            result = subprocess.run([OURS, folder, str(10 * rounds)], capture_output=True, text=True, check=True)
            measured = json.loads(result.stdout)
            ours["STEP"] += measured["step_ms"]
            ours["STL"] += measured["stl_ms"]
            sizes = {path.name: path.stat().st_size for path in sorted(folder.glob("*-0.*"))}
    good = True
    for job in ("STEP", "STL"):
        mine, other = statistics.median(ours[job]), statistics.median(theirs[job])
        ratio = other / mine
        good &= ratio >= LEAST[job]
        print(f"{job:5} ours {mine:8.3f} ms   OpenCascade {other:8.2f} ms   {ratio:6.1f} times (at least {LEAST[job]:.0f})")
        least, least_other = min(ours[job]), min(theirs[job])
        print(f"      best {least:8.3f} ms               {least_other:8.2f} ms   {least_other / least:6.1f} times")
    print("bytes:", ", ".join(f"{name} {size}" for name, size in sizes.items()))
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
