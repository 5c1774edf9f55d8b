//! Where an end is, in words: as one stands in front of the drawing, x to the right, y away, z up.

use super::seat::Miss;
use crate::geometry::Vector3;
use crate::plan::Quantity;
use crate::quantity::{Unit, fixed};

/// Less than this is not told, mm and rad (0.1°).
const LITTLE_MM: f64 = 0.1;
/// See [`LITTLE_MM`].
const LITTLE: f64 = 0.1 * std::f64::consts::PI / 180.0;

/// A part that is so much smaller than the largest is not told.
const SMALL_PART: f64 = 0.2;

/// "2.1 mm too far left and 0.5 mm too high, and points 1.4° down", as a sentence's end after "reaches its port".
pub fn place(miss: &Miss, unit: Unit) -> String {
    let place: Vec<String> = parts(miss.moved, LITTLE_MM)
        .into_iter()
        .map(|(axis, by)| {
            let words = [
                ["too far left", "too far right"],
                ["too near to you", "too far away"],
                ["too low", "too high"],
            ];
            format!("{} {}", unit.length_with(by.abs(), 1), word(words, axis, by))
        })
        .collect();
    let turn = miss.angle();
    let way = (turn >= LITTLE).then(|| {
        let words = [["left", "right"], ["towards you", "away from you"], ["down", "up"]];
        let ways: Vec<&str> =
            parts(miss.turned, LITTLE / 2.0).into_iter().map(|(axis, by)| word(words, axis, by)).collect();
        format!("points {}° {}", fixed(turn.to_degrees(), 1), ways.join(" and "))
    });
    match (place.is_empty(), way) {
        (true, None) => "where it should be".to_owned(),
        (true, Some(way)) => format!("in the right place, and {way}"),
        (false, None) => place.join(" and "),
        (false, Some(way)) => format!("{}, and {way}", place.join(" and ")),
    }
}

/// The parts along x, y and z that count, the largest first: the axis and the part.
fn parts(of: Vector3, little: f64) -> Vec<(usize, f64)> {
    let mut all: Vec<(usize, f64)> = [of.x, of.y, of.z].into_iter().enumerate().collect();
    all.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let most = all.first().map_or(0.0, |(_, most)| most.abs());
    all.retain(|(_, by)| by.abs() >= little.max(SMALL_PART * most));
    all
}

fn word<'w>(words: [[&'w str; 2]; 3], axis: usize, by: f64) -> &'w str {
    let [low, high] = words.get(axis).copied().unwrap_or(["", ""]);
    if by < 0.0 { low } else { high }
}

/// A deviation of a quantity, mm or rad: "bend 2, 1.8° short".
pub fn deviation(quantity: Quantity, by: f64, unit: Unit) -> String {
    let degrees = format!("{}°", fixed(by.abs().to_degrees(), 1));
    let length = unit.length_with(by.abs(), 1);
    let pair = |less, more| if by < 0.0 { less } else { more };
    match quantity {
        Quantity::Angle(bend) => format!("bend {bend}, {degrees} {}", pair("short", "too much")),
        Quantity::Turn(bend) => {
            format!("the turn to bend {bend}, {degrees} too far {}", pair("anticlockwise", "clockwise"))
        }
        Quantity::Mark(bend) => {
            format!("bend {bend}, {length} too {} along the tube", pair("early", "far"))
        }
        Quantity::Radius(clr) => {
            format!("the radius of {}, {length} too {}", unit.length(clr), pair("small", "large"))
        }
        Quantity::Length => format!("the tube, cut {length} too {}", pair("short", "long")),
        Quantity::Ports => format!("the places of the ports, {length}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_end_is_told_along_the_axes() {
        let told = |moved: [f64; 3], turned: [f64; 3]| {
            place(&Miss { moved: moved.into(), turned: turned.into() }, Unit::Millimetre)
        };
        // 1.4° is 0.0244 rad.
        assert_eq!(told([-2.1, 0.0, 0.3], [0.0, 0.0, -0.0244]), "2.1 mm too far left, and points 1.4° down");
        assert_eq!(told([0.0, 1.0, 0.5], [0.0; 3]), "1.0 mm too far away and 0.5 mm too high");
        assert_eq!(told([0.0; 3], [0.02, 0.0, 0.01]), "in the right place, and points 1.3° right and up");
        assert_eq!(told([0.05, 0.0, 0.0], [0.001, 0.0, 0.0]), "where it should be");
    }
}
