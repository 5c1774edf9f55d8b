//! A tube's metal in the state it is bent in: what the spec gives of it, else what is known of it.

use crate::formula::springback::{BentTube, FlowLaw};
use crate::spec::model::{Temper, Tube};
use crate::stock::{self, Annealing, Bendable, Hardness, LeastRadius, Strength};

/// The tube as it is bent, made soft first or not; `None` where its stiffness or strength is not known.
pub(super) fn bent_tube(tube: &Tube, annealed: bool) -> Option<BentTube> {
    let law = law(tube, annealed)?;
    Some(BentTube { od: tube.od(), wall: tube.wall(), modulus: modulus(tube)?, law })
}

/// How it flows when it is bent, where that is known.
///
/// Properties that the spec gives describe the tube as delivered, and a hardening law says more than a yield
/// strength. Made soft, known metals follow their own soft law; of others only a hardening law that the
/// spec gives is left, since a drawn tube's yield strength is gone.
pub(super) fn law(tube: &Tube, annealed: bool) -> Option<FlowLaw> {
    let given = tube.metal();
    let hardening =
        given.hardening.map(|law| FlowLaw::Power { strength: law.strength, exponent: law.exponent });
    let stress = given.yield_strength.map(|stress| FlowLaw::Plastic { stress });
    let known = known_strength(tube, annealed).map(|strength| strength.law);
    if annealed && tube.temper() != Temper::Soft {
        known.or(hardening)
    } else {
        hardening.or(stress).or(known)
    }
}

/// Modulus of elasticity, MPa, where it is known.
pub(super) fn modulus(tube: &Tube) -> Option<f64> {
    tube.metal().modulus.or_else(|| stock::material(tube.material()).map(|metal| metal.modulus))
}

/// Elongation at fracture, 1, in the state it is bent in; `None` where it is not known.
pub(super) fn elongation(tube: &Tube, annealed: bool) -> Option<f64> {
    let known = known_strength(tube, annealed).map(|strength| strength.elongation);
    if annealed && tube.temper() != Temper::Soft { known } else { tube.metal().elongation.or(known) }
}

/// How its metal is made soft, if that is known.
pub(super) fn annealing(tube: &Tube) -> Option<Annealing> {
    stock::material(tube.material()).and_then(|metal| metal.annealing)
}

/// The least radius for the tube as it is bent.
pub(super) fn least_radius(tube: &Tube, annealed: bool) -> LeastRadius {
    let hardness = hardness(tube, annealed);
    stock::least_radius(Bendable { od: tube.od(), wall: tube.wall(), material: tube.material(), hardness })
}

/// How hard it is when it is bent. Where a standard has one drawn temper only, that is half hard.
fn hardness(tube: &Tube, annealed: bool) -> Hardness {
    let one_drawn = |tempers: stock::Tempers| tempers.half_hard == tempers.hard;
    match tube.temper() {
        _ if annealed => Hardness::Soft,
        Temper::Soft => Hardness::Soft,
        Temper::HalfHard => Hardness::HalfHard,
        Temper::Hard if stock::tempers(tube.material(), tube.standard()).is_some_and(one_drawn) => {
            Hardness::HalfHard
        }
        Temper::Hard => Hardness::Hard,
    }
}

fn known_strength(tube: &Tube, annealed: bool) -> Option<Strength> {
    let tempers = stock::tempers(tube.material(), tube.standard())?;
    Some(match tube.temper() {
        _ if annealed => tempers.soft,
        Temper::Soft => tempers.soft,
        Temper::HalfHard => tempers.half_hard,
        Temper::Hard => tempers.hard,
    })
}
