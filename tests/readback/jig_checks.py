"""What a checking jig must do, each as a function that lists where it does not."""

import math

import numpy
import occ
import occ_make
from bent_runs import Straight, rotated
from jig_model import ROUNDED, Rod, collides, lengthened, rebent

TOUCH = 0.05
"""How close the stop must stand to the datum end, mm."""
PLAY = 0.05
"""How far beyond its clearance a cradle may let the tube go, mm."""
LIFTS = (1.0, 5.0, 20.0, 60.0)
"""How far the tube is lifted on its way in, mm."""
TOO_LONG = 2.0
WRONG = 2.0
"""Errors a jig must show: mm of length, degrees of a bend."""


def poses(jig):
    """The base lies below z = 0; everything else stands upright on it, on the centreline, tabs through the board."""
    found, t = [], jig.shop["thickness"]
    base = jig.plates["base"]
    if not numpy.allclose([base.box[0][2], base.box[1][2]], [-t, 0], atol=ROUNDED):
        found.append(f"the base is at z = {base.box[:, 2]}")
    for upright in jig.uprights:
        plate = jig.plates[upright["part"]]
        if abs(plate.normal[2]) > 1e-9 or abs(abs(plate.x[2]) + abs(plate.y[2]) - 1) > 1e-9:
            found.append(f"{upright['part']} does not stand upright")
        if abs(plate.box[0][2] + t) > ROUNDED:
            found.append(f"{upright['part']} reaches down to {plate.box[0][2]}")
        at, along = _at_station(jig.pieces, upright["station_mm"])
        if numpy.linalg.norm(at - upright["at_mm"]) > ROUNDED or numpy.linalg.norm(along - upright["direction"]) > 1e-6:
            found.append(f"{upright['part']} is not on the centreline at {upright['station_mm']}")
    if sorted(jig.plates) != sorted(["base", *(upright["part"] for upright in jig.uprights)]):
        found.append(f"{sorted(jig.plates)} are not a base and the uprights")
    if len(jig.role("stop")) != 1 or len(jig.role("gate")) != 1 or not jig.role("cradle"):
        found.append(f"roles {[upright['role'] for upright in jig.uprights]}")
    return found


def _at_station(pieces, station):
    for piece in pieces:
        length = piece.length if isinstance(piece, Straight) else piece.angle * numpy.linalg.norm(piece.spoke)
        if station <= length + 1e-6:
            if isinstance(piece, Straight):
                return piece.start + piece.along * station, piece.along
            turned = rotated(piece.spoke, piece.axis, station / numpy.linalg.norm(piece.spoke))
            along = numpy.cross(piece.axis, turned)
            return piece.centre + turned, along / numpy.linalg.norm(along)
        station -= length
    return numpy.full(3, numpy.inf), numpy.zeros(3)


def gaps(jig):
    """Least distance of the true tube to each part, mm; minus the common volume where they meet."""
    found = {name: math.inf for name in jig.plates}
    for name, plate in jig.plates.items():
        # Further off than this is far enough for every check but that of the lift, which looks at the base.
        margin = math.inf if name == "base" else 2.0 + jig.shop["gate"]
        for rod in (rod for rod in jig.rods if rod.near(plate, margin)):
            gap = occ_make.distance(plate.shape, rod.shape)
            if gap < 1e-9:
                gap = -occ_make.common(plate.shape, rod.shape)
            found[name] = min(found[name], gap)
    return found


def fit(jig, gaps):
    """No part cuts into the true tube; cradles are within their clearance, stop, gate and guards where they belong."""
    found, shop = [], jig.shop
    for name, gap in gaps.items():
        if gap < -1e-6:
            found.append(f"{name} and the tube share {-gap} mm3")
    for name in jig.role("cradle"):
        if not -1e-6 <= gaps[name] <= shop["clearance"] + ROUNDED:
            found.append(f"{name} is {gaps[name]} from the tube")
    for name in jig.role("stop"):
        if not 0 <= gaps[name] <= TOUCH:
            found.append(f"{name} is {gaps[name]} from the datum end")
    for name in jig.role("gate") + jig.role("guard"):
        if abs(gaps[name] - shop["gate"]) > TOUCH:
            found.append(f"{name} is {gaps[name]} from the tube")
    if gaps["base"] < shop["lift"] - ROUNDED:
        found.append(f"the board is {gaps['base']} below the tube")
    return found


def held(jig):
    """Each cradle stops the tube, moved down or to either side by hardly more than the clearance."""
    found, clearance = [], jig.shop["clearance"]
    for upright in jig.uprights:
        if upright["role"] != "cradle":
            continue
        plate, along = jig.plates[upright["part"]], numpy.array(upright["direction"])
        level = math.hypot(along[0], along[1])
        across = numpy.array([along[1], -along[0], 0]) / level
        # A piece of its straight that reaches out of the plate, whose face may be flush with the tube's end.
        rod = Rod(Straight(numpy.array(upright["at_mm"]) - 20 * along, along, 40.0), jig.radius)
        # Across a slope the tube is as wide as ever, but higher: the room below it is the clearance over its cosine.
        for by in (across * (clearance + PLAY), -across * (clearance + PLAY), [0, 0, -clearance / level - PLAY]):
            if occ_make.common(plate.shape, rod.shifted(by).shape) <= 1e-6:
                found.append(f"{upright['part']} lets the tube move by {numpy.round(by, 3)}")
    return found


def meeting(jig):
    """Parts that cut into each other; a tab pressed into its slot may, where the fit is less than 0."""
    found, plates = [], list(jig.plates.items())
    for index, (name, plate) in enumerate(plates):
        for other, there in plates[index + 1 :]:
            if jig.shop["slot_fit"] < 0 and "base" in (name, other):
                continue
            if not occ_make.apart(plate.box, there.box) and occ_make.common(plate.shape, there.shape) > 1e-6:
                found.append(f"{name} and {other} meet")
    return found


def tabs_and_slots(jig):
    """Every tab has a slot of its own, wider by the fit both ways and concentric; no slot is left."""
    t, fit = jig.shop["thickness"], jig.shop["slot_fit"]
    base = jig.plates["base"]
    slots = [base.in_jig(opening) for opening in base.cut.openings]
    found = []
    for upright in jig.uprights:
        plate = jig.plates[upright["part"]]
        tabs = _tabs(plate, t)
        if not tabs:
            found.append(f"{upright['part']} has no tab")
        for middle, along, width in tabs:
            half, deep = along * (width + fit) / 2, plate.normal * (t + fit) / 2
            corners = numpy.array([middle + half + deep, middle + half - deep, middle - half - deep, middle - half + deep])
            held = [slot for slot in slots if _same_corners(slot, corners)]
            if len(held) != 1:
                found.append(f"a tab of {upright['part']} has {len(held)} slots")
            slots = [slot for slot in slots if not any(slot is h for h in held)]
    if slots:
        found.append(f"{len(slots)} slots without a tab")
    return found


def _tabs(plate, t):
    """Middle, direction and width of each tab where it comes out below the board."""
    corners = plate.in_jig(plate.cut.outline, t / 2)
    tabs = []
    for here, there in zip(corners, numpy.roll(corners, -1, axis=0), strict=True):
        if max(abs(here[2] + t), abs(there[2] + t)) < ROUNDED:
            width = numpy.linalg.norm(there - here)
            middle = (here + there) / 2
            tabs.append((numpy.array([middle[0], middle[1], 0]), (there - here) / width, width))
    return tabs


def _same_corners(slot, corners):
    if len(slot) != 4:
        return False
    away = numpy.linalg.norm((slot - corners[:, None])[:, :, :2], axis=2)
    return bool(numpy.all(away.min(axis=0) < ROUNDED) and numpy.all(away.min(axis=1) < ROUNDED))


def dropping_in(jig, lifts=LIFTS):
    """Where the true tube, lifted, meets a part."""
    found = []
    for lift in lifts:
        for rod in (rod.shifted((0, 0, lift)) for rod in jig.rods):
            for name, plate in jig.plates.items():
                # By distance, not by volume: faces that all but coincide can make a common volume come out as none.
                if rod.near(plate) and occ_make.distance(plate.shape, rod.shape) < 1e-9:
                    found.append(f"lifted by {lift} it meets {name}")
    return found


def too_long_unfelt(jig):
    """Straights (by the number of the bend they lead to, the last by None) that may be 2 mm longer unnoticed."""
    unfelt, bends = [], sum(not isinstance(piece, Straight) for piece in jig.pieces)
    before = 0
    for index, piece in enumerate(jig.pieces):
        if not isinstance(piece, Straight):
            before += 1
        elif collides(jig, lengthened(jig.pieces, index, TOO_LONG), index) is None:
            unfelt.append(before + 1 if before < bends else None)
    return unfelt


def wrong_unfelt(jig, by=WRONG):
    """Numbers of bends whose angle may be wrong by so many degrees, one way at least, unnoticed."""
    unfelt, number = [], 0
    for index, piece in enumerate(jig.pieces):
        if isinstance(piece, Straight):
            continue
        number += 1
        errors = (math.radians(by), -math.radians(by))
        if any(collides(jig, rebent(jig.pieces, index, error), index) is None for error in errors):
            unfelt.append(number)
    return unfelt


def step_file(jig, twin, wall):
    """The STEP file has every part and the tube, valid, of the right volume and in place."""
    found = list(twin.faults)
    if sorted(twin.parts) != sorted([*jig.plates, jig.run]):
        return [*found, f"it has {sorted(twin.parts)}"]
    for name, part in twin.parts.items():
        if occ.solids(part.shape) != 1 or not occ.valid(part.shape):
            found.append(f"{name} is no valid solid")
    for name, plate in jig.plates.items():
        exact = occ.volume(plate.shape)
        if abs(occ.volume(twin.parts[name].shape) / exact - 1) > 1e-6:
            found.append(f"{name} has {occ.volume(twin.parts[name].shape)} mm3 instead of {exact}")
    outer = [occ.volume(rod) for rod in occ_make.rod(jig.pieces, jig.radius)]
    inner = [occ.volume(rod) for rod in occ_make.rod(jig.pieces, jig.radius - wall)]
    tube = twin.parts[jig.run].shape
    if abs(occ.volume(tube) / (sum(outer) - sum(inner)) - 1) > 1e-9:
        found.append("the tube has another volume")
    low, high = numpy.array([occ.box(rod) for rod in occ_make.rod(jig.pieces, jig.radius)]).transpose(1, 0, 2)
    if not numpy.allclose(occ.box(tube), [low.min(axis=0), high.max(axis=0)], atol=1e-4):
        found.append("the tube is not in its place")
    return found
